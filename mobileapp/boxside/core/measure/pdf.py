"""The measuring card as a printable page: a minimal PDF, written without any library.

Written after ISO 32000-1:2008 (Document management, Portable document format): a catalog, one page, one
content stream of filled rectangles and text in Helvetica, and a cross-reference table.
"""

from __future__ import annotations

from boxside.core.measure.card import Rect, Text, card_drawing, card_geometry

POINTS_PER_MM = 72 / 25.4
PAGE_MM = (210.0, 297.0)
MARGIN_MM = 20.0
"""Distance of the card from the left and top edge of the A4 page; the card then fits US Letter too."""


def _number(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _rect(rect: Rect) -> str:
    x = (MARGIN_MM + rect.x_mm) * POINTS_PER_MM
    y = (PAGE_MM[1] - MARGIN_MM - rect.y_mm - rect.h_mm) * POINTS_PER_MM
    size = f"{_number(rect.w_mm * POINTS_PER_MM)} {_number(rect.h_mm * POINTS_PER_MM)}"
    return f"{_number(rect.shade)} g {_number(x)} {_number(y)} {size} re f"


def _text(text: Text) -> str:
    x = (MARGIN_MM + text.x_mm) * POINTS_PER_MM
    y = (PAGE_MM[1] - MARGIN_MM - text.y_mm) * POINTS_PER_MM
    safe = text.text.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
    size = _number(text.size_mm * POINTS_PER_MM)
    return f"BT 0 g /F1 {size} Tf {_number(x)} {_number(y)} Td ({safe}) Tj ET"


def _cut_marks(width: float, height: float) -> list[Rect]:
    """Return short lines outside the four corners, where to cut the card out."""
    out = []
    for x in (0.0, width):
        out += [Rect(x - 0.05, -6, 0.1, 4, 0.4), Rect(x - 0.05, height + 2, 0.1, 4, 0.4)]
    for y in (0.0, height):
        out += [Rect(-6, y - 0.05, 4, 0.1, 0.4), Rect(width + 2, y - 0.05, 4, 0.1, 0.4)]
    return out


def card_pdf(variant: str = "a6") -> bytes:
    """Return a one-page A4 PDF with the card at true scale; print at 100 %, never "fit to page".

    Raises
    ------
    KeyError
        For an unknown variant.
    """
    rects, texts = card_drawing(variant)
    width, height = card_geometry(variant).size_mm
    note = Text(0, height + 12, 3.5, 'Print at 100 % ("actual size"). Cut along the marks; cut the window out.')
    lines = [_rect(r) for r in (*rects, *_cut_marks(width, height))]
    lines += [_text(t) for t in (*texts, note)]
    stream = "\n".join(lines).encode("latin-1")
    box = " ".join(_number(mm * POINTS_PER_MM) for mm in PAGE_MM)
    parts = [
        b"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {box}] /Contents 4 0 R "
        "/Resources << /Font << /F1 5 0 R >> >> >>".encode("latin-1"),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(stream), stream),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
    ]
    return _assemble(parts)


def _assemble(parts: list[bytes]) -> bytes:
    """Return a PDF file of numbered objects, the first being the catalog."""
    out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    offsets = []
    for number, part in enumerate(parts, 1):
        offsets.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, part)
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(parts) + 1)
    for offset in offsets:
        out += b"%010d 00000 n \n" % offset
    out += b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(parts) + 1, start)
    return bytes(out)
