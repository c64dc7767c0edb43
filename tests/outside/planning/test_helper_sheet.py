"""The helper's page as another program reads it: pypdf (a PDF library), with Adobe's font metrics in it."""

from __future__ import annotations

import io
import string

import pypdf
import pytest
from pypdf._codecs.core_font_metrics import CORE_FONT_METRICS

from boxside.core.tables import SheetLine, sheet_pdf, text_width_pt

HELVETICA = CORE_FONT_METRICS["Helvetica"].character_widths
LINES = [
    SheetLine("Glow-worms, 1 Dec to 20 Dec: for M. Weiß", heading=True),
    SheetLine("[ ] B07 (Shelf 1.7): 3 snails – 8 to 12 mm", indent=1),
    SheetLine("Let no animal out, and take none home (see the note).", indent=1),
]


def test_every_line_is_read_back_in_order_on_one_a4_page() -> None:
    found = pypdf.PdfReader(io.BytesIO(sheet_pdf(LINES, "While away")), strict=True)
    (page,) = found.pages
    assert (round(page.mediabox.width), round(page.mediabox.height)) == (595, 842)
    assert [line.strip() for line in page.extract_text().splitlines()] == [line.text for line in LINES]
    assert found.metadata is not None
    assert found.metadata.title == "While away"


def test_a_long_sheet_is_read_back_whole() -> None:
    lines = [SheetLine(f"[ ] B{n:03d}: check moisture", indent=1) for n in range(300)]
    pages = pypdf.PdfReader(io.BytesIO(sheet_pdf(lines, "Long")), strict=True).pages
    text = "\n".join(page.extract_text() for page in pages)
    assert len(pages) > 1
    assert [line.strip() for line in text.splitlines() if line.strip()][: len(lines)] == [line.text for line in lines]


@pytest.mark.parametrize("char", [c for c in string.printable if c.isprintable()])
def test_widths_of_helvetica_matches_adobe_1997(char: str) -> None:
    """Adobe Systems 1997, Core 14 AFM files (Helvetica.afm), as pypdf carries them."""
    # The file names its quotes after their curved shapes; 222 and 191 are quoteright and quotesingle.
    assert text_width_pt(char, 1000) == {"'": 191, "`": 333}.get(char, HELVETICA.get(char, -1))
