"""Lines of text as a PDF for printing: A4, the standard Helvetica, nothing embedded.

References
----------
Adobe Systems 2006, PDF Reference, sixth edition, version 1.7: sections 3.4 (file structure), 5.3 (text objects),
appendix D (WinAnsiEncoding). Widths: Adobe Systems 1997, Core 14 AFM files, Helvetica; `tests/outside/planning`
compares them with those that pypdf carries, and reads sheets back with it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

PAGE_W, PAGE_H = 595, 842
MARGIN = 50
LARGEST_PT, SMALLEST_PT = 11.0, 8.0
_LEADING = 1.35
_WIDTHS = {
    278: " !,./:;I[\\]ft", 355: '"', 556: "#$0123456789?L_abdeghnopqu", 889: "%", 667: "&ABEKPSVXY", 191: "'",
    333: "()-`r", 389: "*", 584: "+<=>~", 1015: "@", 722: "CDHNRUw", 611: "FTZ", 778: "GOQ", 500: "Jckvsxyz",
    833: "Mm", 944: "W", 469: "^", 222: "ijl", 334: "{}", 260: "|",
}  # fmt: skip
_WIDTH = {char: width for width, chars in _WIDTHS.items() for char in chars}
# Letters with accents are as wide as without; what is left is taken as wide, so that no line runs over.
_OTHER_WIDTH = 889


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of a sheet: its text, whether it is a heading, and by how many steps it stands in."""

    text: str
    heading: bool = False
    indent: int = 0


def text_width_pt(text: str, size_pt: float) -> float:
    """Return how wide a text is set in Helvetica, in points; never less than it is."""
    return sum(_char_width(char) for char in text) * size_pt / 1000


def wrapped(line: SheetLine, size_pt: float) -> tuple[SheetLine, ...]:
    """Return a line broken so that each piece fits the page; later pieces stand in one step more."""
    pieces: list[SheetLine] = []
    words, indent, held = _words(line, size_pt), line.indent, ""
    for word in words:
        trial = f"{held} {word}" if held else word
        if held and text_width_pt(trial, size_pt) > _room_pt(indent, line.heading):
            pieces.append(SheetLine(held, line.heading, indent))
            held, indent = word, line.indent + 1
        else:
            held = trial
    return (*pieces, SheetLine(held, line.heading, indent))


def sheet_pdf(lines: Sequence[SheetLine], title: str) -> bytes:
    """Return a PDF of the lines, on one page if it can be.

    The type grows smaller down to 8 points to keep to one page; what does not fit then goes on more pages.
    Characters that Windows code page 1252 lacks lose their accents, or become question marks.
    """
    size_pt = LARGEST_PT
    while size_pt > SMALLEST_PT and len(_pages(lines, size_pt)) > 1:
        size_pt -= 0.5
    pages = _pages(lines, size_pt)
    return pdf_file([_content(page, size_pt) for page in pages], title)


def _pages(lines: Sequence[SheetLine], size_pt: float) -> list[list[SheetLine]]:
    fitting = int((PAGE_H - 2 * MARGIN) / (size_pt * _LEADING))
    flat = [piece for line in lines for piece in wrapped(line, size_pt)]
    return [flat[i : i + fitting] for i in range(0, len(flat), fitting)] or [[]]


def _words(line: SheetLine, size_pt: float) -> list[str]:
    """The words of a line; one that is wider than the page is cut."""
    room = _room_pt(line.indent + 1, line.heading)
    words: list[str] = []
    for word in line.text.split():
        piece = ""
        for char in word:
            if piece and text_width_pt(piece + char, size_pt) > room:
                words.append(piece)
                piece = ""
            piece += char
        words.append(piece)
    return words


def _room_pt(indent: int, heading: bool) -> float:
    # Bold letters are a little wider than those that were measured.
    return (PAGE_W - 2 * MARGIN - 14 * indent) * (0.9 if heading else 1.0)


def _char_width(char: str) -> int:
    return _WIDTH.get(char) or _WIDTH.get(unicodedata.normalize("NFD", char)[0], _OTHER_WIDTH)


def _content(page: Sequence[SheetLine], size_pt: float) -> bytes:
    leading = size_pt * _LEADING
    out = [b"BT"]
    for n, line in enumerate(page):
        font = b"/F2" if line.heading else b"/F1"
        x, y = MARGIN + 14 * line.indent, PAGE_H - MARGIN - (n + 1) * leading
        out.append(font + f" {size_pt:g} Tf 1 0 0 1 {x} {y:.2f} Tm (".encode() + pdf_text(line.text) + b") Tj")
    out.append(b"ET")
    return b"\n".join(out)


def pdf_text(text: str) -> bytes:
    """Return a text as it stands between the brackets of a PDF string, in Windows code page 1252."""
    return (
        b"".join(_win_ansi(char) for char in text).replace(b"\\", b"\\\\").replace(b"(", b"\\(").replace(b")", b"\\)")
    )


def _win_ansi(char: str) -> bytes:
    if unicodedata.category(char) == "Cc":
        return b" "
    try:
        return char.encode("cp1252")
    except UnicodeEncodeError:
        bare = unicodedata.normalize("NFKD", char).encode("ascii", "ignore")
        return bare or b"?"


def pdf_file(contents: Sequence[bytes], title: str) -> bytes:
    """Return a file of pages: the objects in order, the table of where they stand, the trailer."""
    objects = list(_objects(contents, title))
    out = b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n"
    places = []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += f"{number} 0 obj\n".encode() + body + b"\nendobj\n"
    table = b"".join(f"{place:010d} 00000 n \n".encode() for place in places)
    size = len(objects) + 1
    trailer = f"trailer\n<< /Size {size} /Root 1 0 R /Info 5 0 R >>\nstartxref\n{len(out)}\n%%EOF\n"
    return out + f"xref\n0 {size}\n0000000000 65535 f \n".encode() + table + trailer.encode()


def _objects(contents: Sequence[bytes], title: str) -> Iterator[bytes]:
    kids = " ".join(f"{6 + 2 * n} 0 R" for n in range(len(contents)))
    font = "<< /Type /Font /Subtype /Type1 /BaseFont /{} /Encoding /WinAnsiEncoding >>"
    yield b"<< /Type /Catalog /Pages 2 0 R >>"
    yield f"<< /Type /Pages /Kids [{kids}] /Count {len(contents)} >>".encode()
    yield font.format("Helvetica").encode()
    yield font.format("Helvetica-Bold").encode()
    yield b"<< /Title (" + pdf_text(title) + b") /Producer (Boxside) >>"
    for n, content in enumerate(contents):
        yield (
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {PAGE_W} {PAGE_H}] /Contents {7 + 2 * n} 0 R "
            "/Resources << /Font << /F1 3 0 R /F2 4 0 R >> >> >>"
        ).encode()
        yield f"<< /Length {len(content)} >>\nstream\n".encode() + content + b"\nendstream"
