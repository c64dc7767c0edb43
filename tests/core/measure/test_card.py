"""The card as data, and its page."""

import re

import pytest

from boxside.core.measure import card_drawing, card_geometry, card_pdf
from boxside.core.measure.card import BITS, CHECK_BAR_MM, CODES, VARIANTS, Rect
from boxside.core.measure.pdf import MARGIN_MM, PAGE_MM, POINTS_PER_MM


def turned(code):
    grid = [[code >> (BITS * BITS - 1 - (r * BITS + c)) & 1 for c in range(BITS)] for r in range(BITS)]
    grid = [list(row) for row in zip(*grid[::-1], strict=True)]
    return int("".join(str(b) for row in grid for b in row), 2)


def test_no_marker_is_mistaken_for_another_or_a_turned_one_within_two_bits():
    seen = []
    for code in CODES.values():
        for turn in range(4):
            seen.append((code, turn))
            code = turned(code)
    for i, (a, _) in enumerate(seen):
        for b, _ in seen[:i]:
            assert (a ^ b).bit_count() >= 6


@pytest.mark.parametrize("variant", VARIANTS)
def test_markers_lie_on_the_card_with_room_around_them_and_outside_the_window(variant):
    card = card_geometry(variant)
    left, top, right, bottom = card.window_mm
    for marker in card.markers:
        cell = marker.side_mm / (BITS + 2)
        for x, y in marker.corners_mm:
            assert cell * 0.85 <= x <= card.size_mm[0] - cell * 0.85
            assert cell * 0.85 <= y <= card.size_mm[1] - cell * 0.85
            assert not (left - cell * 0.85 < x < right + cell * 0.85 and top < y < bottom)


def test_the_variants_share_no_marker():
    ids = [m.id for v in VARIANTS for m in card_geometry(v).markers]
    assert sorted(ids) == sorted(CODES)


@pytest.mark.parametrize("variant", VARIANTS)
def test_the_check_bar_is_fifty_millimetres_and_everything_is_on_the_card(variant):
    rects, texts = card_drawing(variant)
    width, height = card_geometry(variant).size_mm
    assert Rect(*card_geometry(variant).bar_mm, 0, 0).x_mm + CHECK_BAR_MM <= width
    assert any(r.w_mm == CHECK_BAR_MM for r in rects)
    for r in rects:
        assert 0 <= r.x_mm <= r.x_mm + r.w_mm <= width + 1e-9
        assert 0 <= r.y_mm <= r.y_mm + r.h_mm <= height + 1e-9
    assert all(0 < t.x_mm < width and 0 < t.y_mm < height for t in texts)


@pytest.mark.parametrize("variant", VARIANTS)
def test_the_page_is_a_pdf_whose_table_points_at_its_objects(variant):
    data = card_pdf(variant)
    assert data.startswith(b"%PDF-1.4")
    start = int(re.search(rb"startxref\n(\d+)\n%%EOF\n$", data).group(1))
    assert data[start:].startswith(b"xref")
    for number, offset in enumerate(re.findall(rb"(\d{10}) 00000 n", data), 1):
        assert data[int(offset) :].startswith(b"%d 0 obj" % number)
    length, stream = re.search(rb"/Length (\d+) >>\nstream\n(.*)\nendstream", data, re.S).groups()
    assert len(stream) == int(length)


def test_the_page_is_at_true_scale():
    data = card_pdf("a6").decode("latin-1")
    bar = re.findall(r"0 g (\S+) (\S+) (\S+) (\S+) re f", data)
    widths = [float(w) for _, _, w, _ in bar]
    assert any(w == pytest.approx(CHECK_BAR_MM / 25.4 * 72, abs=1e-3) for w in widths)
    x, y, w, _ = re.search(r"1 g (\S+) (\S+) (\S+) (\S+) re f", data).groups()
    assert float(x) == pytest.approx(MARGIN_MM * POINTS_PER_MM, abs=1e-3)
    assert float(w) == pytest.approx(148 * POINTS_PER_MM, abs=1e-3)
    assert float(y) == pytest.approx((PAGE_MM[1] - MARGIN_MM - 105) * POINTS_PER_MM, abs=1e-3)


def test_an_unknown_variant_is_an_error():
    with pytest.raises(KeyError):
        card_geometry("a5")
