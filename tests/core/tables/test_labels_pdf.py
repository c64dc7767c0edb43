"""Labels as PDF: everything within its label, the quiet zone kept, the code beside the symbol."""

from __future__ import annotations

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.tables import BoxLabel, labels_pdf, text_width_pt
from boxside.core.tables.labels_pdf import LABEL_H_MM, LABEL_W_MM, PT_PER_MM
from tests.core.tables.test_sheet_pdf import objects, pages_of

SIDE = 21
ALL_DARK = tuple((True,) * SIDE for _ in range(SIDE))
CODES = st.text("ABCDEFWM0123456789-/ ()\\éß", min_size=1, max_size=12).filter(lambda text: bool(text.strip()))


def rectangles(pdf: bytes, verb: str) -> list[tuple[float, ...]]:
    (content,) = [body for body in objects(pdf).values() if b"stream\n" in body]
    number = r"(-?[\d.]+)"
    found = re.findall(rf"{number} {number} {number} {number} re {verb}", content.decode("cp1252"))
    return [tuple(map(float, one)) for one in found]


@settings(deadline=None, max_examples=40)
@given(CODES)
def test_code_ends_before_the_symbol_begins(code: str) -> None:
    pdf = labels_pdf([BoxLabel(code, ALL_DARK)])
    (content,) = [body for body in objects(pdf).values() if b"stream\n" in body]
    said = re.search(rb"/F2 ([\d.]+) Tf 1 0 0 1 ([\d.]+) ", content)
    assert said is not None
    size, left = float(said[1]), float(said[2])
    symbol_left = min(x for x, _, _, _ in rectangles(pdf, "f"))
    assert left + 1.1 * text_width_pt(code, size) < symbol_left
    assert pages_of(pdf) == [[code]]


def test_the_symbol_has_four_modules_of_white_around_it_and_lies_in_its_label() -> None:
    pdf = labels_pdf([BoxLabel("B01", ALL_DARK)] * 27)
    dark, borders = rectangles(pdf, "f"), rectangles(pdf, "S")
    assert len(borders) == 27
    assert {(round(w / PT_PER_MM, 1), round(h / PT_PER_MM, 1)) for _, _, w, h in borders} == {(LABEL_W_MM, LABEL_H_MM)}
    module = 25 * PT_PER_MM / (SIDE + 8)
    for (bx, by, bw, bh), n in zip(borders, range(27), strict=True):
        mine = dark[n * SIDE : (n + 1) * SIDE]
        assert min(x for x, *_ in mine) - bx > 4 * module - 0.01
        assert bx + bw - max(x + w for x, _, w, _ in mine) > 4 * module - 0.01
        assert min(y for _, y, _, _ in mine) - by > 4 * module - 0.01
        assert by + bh - max(y + h for _, y, _, h in mine) > 4 * module - 0.01
