"""A sheet as PDF: what is written can be read back from its objects, lines fit the page, and it keeps to one page."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.tables import SheetLine, sheet_pdf, text_width_pt, wrapped
from boxside.core.tables.sheet_pdf import MARGIN, PAGE_W

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=200)


def objects(pdf: bytes) -> dict[int, bytes]:
    """Return the objects of a file, found through its own table of where they stand."""
    start = int(re.findall(rb"startxref\n(\d+)\n%%EOF", pdf)[-1])
    assert pdf[start : start + 5] == b"xref\n"
    head = re.match(rb"xref\n0 (\d+)\n", pdf[start:])
    assert head is not None
    size = int(head[1])
    entries = re.findall(rb"(\d{10}) (\d{5}) ([nf]) \n", pdf[start:])
    assert len(entries) == size
    assert f"/Size {size}".encode() in pdf[start:]
    found = {}
    for number, (place, _, kind) in enumerate(entries):
        if kind == b"n":
            body = pdf[int(place) :]
            assert body.startswith(f"{number} 0 obj\n".encode())
            found[number] = body[body.index(b"\n") + 1 : body.index(b"\nendobj")]
    return found


def pages_of(pdf: bytes) -> list[list[str]]:
    """Return the texts that each page shows."""
    held = objects(pdf)
    kids = re.search(rb"/Kids \[([^]]*)\]", held[2])
    assert kids is not None
    texts = []
    for number in re.findall(rb"(\d+) 0 R", kids[1]):
        contents = re.search(rb"/Contents (\d+) 0 R", held[int(number)])
        assert contents is not None
        stream = held[int(contents[1])]
        length = re.search(rb"/Length (\d+)", stream)
        assert length is not None
        data = stream[stream.index(b"stream\n") + 7 : stream.rindex(b"\nendstream")]
        assert len(data) == int(length[1])
        shown = re.findall(rb"\(((?:[^()\\]|\\.)*)\) Tj", data, re.DOTALL)
        texts.append([re.sub(rb"\\(.)", rb"\1", text).decode("cp1252") for text in shown])
    return texts


def test_lines_come_back_in_order_with_their_signs() -> None:
    lines = [SheetLine("Größe (ca. 5 mm) – \\ “so”", heading=True), SheetLine("[ ] B07: 3 °C", indent=1)]
    assert pages_of(sheet_pdf(lines, "A (title)")) == [["Größe (ca. 5 mm) – \\ “so”", "[ ] B07: 3 °C"]]


def test_letters_that_the_code_page_lacks_lose_their_accents() -> None:
    assert pages_of(sheet_pdf([SheetLine("Čáp 北")], "t")) == [["Cáp ?"]]


def test_forty_lines_keep_to_one_page_and_hundreds_do_not() -> None:
    assert len(pages_of(sheet_pdf([SheetLine(f"line {n}") for n in range(60)], "t"))) == 1
    many = pages_of(sheet_pdf([SheetLine(f"line {n}") for n in range(200)], "t"))
    assert len(many) == 3
    assert [text for page in many for text in page] == [f"line {n}" for n in range(200)]


@pytest.mark.parametrize(
    ("text", "thousandths"),
    [("Hello", 722 + 556 + 222 + 222 + 556), ("B07", 667 + 556 + 556), ("é", 556), ("mm", 2 * 833)],
)
def test_widths_are_those_of_helvetica(text: str, thousandths: int) -> None:
    assert text_width_pt(text, 10) == pytest.approx(thousandths / 100)


@settings(deadline=None, max_examples=60)
@given(TEXT, st.integers(0, 3))
def test_no_line_runs_over_and_no_word_is_lost(text: str, indent: int) -> None:
    pieces = wrapped(SheetLine(text, indent=indent), 10)
    for piece in pieces:
        assert text_width_pt(piece.text, 10) <= PAGE_W - 2 * MARGIN - 14 * piece.indent
    assert "".join("".join(piece.text for piece in pieces).split()) == "".join(text.split())


@settings(deadline=None, max_examples=60)
@given(st.lists(TEXT, max_size=8))
def test_any_text_makes_a_file_that_can_be_read(texts: list[str]) -> None:
    pages = pages_of(sheet_pdf([SheetLine(text) for text in texts], "t"))
    assert len(pages) == 1
