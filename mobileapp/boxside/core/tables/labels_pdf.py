"""Labels for the lids as a PDF: the code large, and the same code as a QR symbol beside it.

References
----------
ISO/IEC 18004:2015, QR Code bar code symbology specification: a quiet zone of 4 modules around the symbol.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from boxside.core.tables.sheet_pdf import PAGE_H, pdf_file, pdf_text, text_width_pt

PT_PER_MM = 72 / 25.4
LABEL_W_MM, LABEL_H_MM = 62.0, 29.0
COLUMNS, ROWS = 3, 9
_LEFT_MM, _TOP_MM = 12.0, 18.0
_SYMBOL_MM, _PADDING_MM = 25.0, 2.0
_QUIET_MODULES = 4
_LARGEST_PT = 34.0
# Bold letters are a little wider than those that were measured.
_BOLD = 1.1


@dataclass(frozen=True, slots=True)
class BoxLabel:
    """One label: its code, and the symbol's modules row by row without the quiet zone, True for dark."""

    code: str
    modules: tuple[tuple[bool, ...], ...]


def labels_pdf(labels: Sequence[BoxLabel]) -> bytes:
    """Return A4 pages of 3 x 9 labels of 62 x 29 mm with cutting lines.

    Notes
    -----
    Print at 100 %: a smaller symbol still reads, but the cutting lines no longer measure 62 x 29 mm.
    """
    per_page = COLUMNS * ROWS
    pages = [labels[i : i + per_page] for i in range(0, len(labels), per_page)] or [()]
    return pdf_file([b"\n".join(_page(page)) for page in pages], "Boxside: labels")


def _page(labels: Sequence[BoxLabel]) -> Iterator[bytes]:
    for n, label in enumerate(labels):
        left_mm = _LEFT_MM + LABEL_W_MM * (n % COLUMNS)
        top_mm = _TOP_MM + LABEL_H_MM * (n // COLUMNS)
        yield _border(left_mm, top_mm)
        yield from _symbol(label.modules, left_mm + LABEL_W_MM - _SYMBOL_MM - _PADDING_MM, top_mm + _PADDING_MM)
        yield _code(label.code, left_mm + 2 * _PADDING_MM, top_mm)


def _border(left_mm: float, top_mm: float) -> bytes:
    return b"0.7 G 0.3 w " + _box(left_mm, top_mm, LABEL_W_MM, LABEL_H_MM) + b" S"


def _symbol(modules: Sequence[Sequence[bool]], left_mm: float, top_mm: float) -> Iterator[bytes]:
    """Dark modules that stand side by side are one rectangle, so that no hairline shows between them."""
    side_mm = _SYMBOL_MM / (len(modules) + 2 * _QUIET_MODULES)
    yield b"0 g"
    for y, row in enumerate(modules):
        x = 0
        while x < len(row):
            n = 0
            while x + n < len(row) and row[x + n]:
                n += 1
            if n:
                at_mm = left_mm + (x + _QUIET_MODULES) * side_mm, top_mm + (y + _QUIET_MODULES) * side_mm
                yield _box(*at_mm, n * side_mm, side_mm) + b" f"
            x += n + 1


def _code(code: str, left_mm: float, top_mm: float) -> bytes:
    room_pt = (LABEL_W_MM - _SYMBOL_MM - 4 * _PADDING_MM) * PT_PER_MM
    size_pt = min(_LARGEST_PT, room_pt / (text_width_pt(code, 1.0) * _BOLD))
    middle_pt = PAGE_H - (top_mm + LABEL_H_MM / 2) * PT_PER_MM
    # A capital letter of Helvetica is about 0.72 of its size high.
    at = f"{left_mm * PT_PER_MM:.2f} {middle_pt - 0.36 * size_pt:.2f}"
    return f"BT 0 g /F2 {size_pt:.2f} Tf 1 0 0 1 {at} Tm (".encode() + pdf_text(code) + b") Tj ET"


def _box(left_mm: float, top_mm: float, width_mm: float, height_mm: float) -> bytes:
    x, y = left_mm * PT_PER_MM, PAGE_H - (top_mm + height_mm) * PT_PER_MM
    return f"{x:.3f} {y:.3f} {width_mm * PT_PER_MM:.3f} {height_mm * PT_PER_MM:.3f} re".encode()
