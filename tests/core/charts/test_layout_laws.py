"""What holds for every chart at every size and type size: nothing meets, nothing leaves, data stay true."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.charts import Polyline, layout
from boxside.core.charts.plane import Plane
from boxside.core.charts.thinning import kept_of_cells, kept_of_columns
from boxside.core.values.chart import Chart, Role, Steps, number_axis
from tests.core.charts.pieces import charts, letter_measure, meeting, outside, sizes
from tests.core.charts.samples import SAMPLES

some = settings(deadline=None, max_examples=120)
values = st.floats(-1e6, 1e6)


@some
@given(charts(), sizes)
def test_no_text_lies_on_another_and_nothing_leaves_the_picture(chart, size):
    width, height, scale = size
    drawing = layout(chart, width, height, letter_measure, scale=scale)
    assert meeting(drawing) == []
    assert outside(drawing) == []
    # Not by leaving everything out: the data has its height, and both axes are marked.
    line = letter_measure("Ag", 16 * scale)[1]
    assert drawing.plot[3] - drawing.plot[1] >= 2 * line
    assert any(text.y > drawing.plot[3] for text in drawing.texts)
    assert any(text.box[2] <= drawing.plot[0] for text in drawing.texts)


def test_the_laws_see_what_breaks_them():
    drawing = layout(SAMPLES["losses"](), 360, 360, letter_measure)
    text = drawing.texts[0]
    assert meeting(replace(drawing, shapes=(*drawing.shapes, replace(text, x=text.x + 1, text="over")))) == [
        (text.text, "over")
    ]
    assert outside(replace(drawing, shapes=(replace(text, x=-1.0),))) != []
    assert outside(replace(drawing, width=drawing.width - 20)) != []


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("scale", [1.0, 1.3, 2.0])
@pytest.mark.parametrize("size", [(320, 240), (328, 328), (411, 600), (1200, 700), (1200, 1600)])
def test_a_real_chart_keeps_apart_inside_and_complete(name, scale, size):
    chart = SAMPLES[name]()
    drawing = layout(chart, *size, letter_measure, scale=scale)
    assert meeting(drawing) == []
    assert outside(drawing) == []
    shown = " ".join(text.text for text in drawing.texts)
    # What is not drawn is handed on: nothing is lost without a word.
    assert chart.title in drawing.left_out or chart.title.split()[0] in shown
    for note in chart.notes:
        assert note in drawing.left_out or note.split()[0] in shown


@some
@given(charts(), sizes)
def test_a_layout_is_always_the_same(chart, size):
    first = layout(chart, size[0], size[1], letter_measure, scale=size[2])
    assert layout(chart, size[0], size[1], letter_measure, scale=size[2]) == first


@some
@given(values, st.floats(0.01, 1e6), st.floats(0, 1), st.floats(0, 1), st.booleans())
def test_a_larger_value_never_stands_before_a_smaller_one(lo, width, one, other, is_turned):
    axis = number_axis("", "", lo, lo + width)
    plane = Plane((10.0, 10.0, 310.0, 210.0), axis, axis, is_turned)
    low, high = sorted(lo + width * share for share in (one, other))
    (x0, y0), (x1, y1) = plane.at(low, low), plane.at(high, high)
    assert x0 <= x1
    assert (y0 <= y1) if is_turned else (y0 >= y1)


@some
@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 1)), min_size=1, max_size=40), sizes)
def test_every_step_stands_exactly_at_its_data(points, size):
    points = sorted(points)
    xs, ys = tuple(x for x, _ in points), tuple(y for _, y in points)
    chart = Chart(
        "t",
        number_axis("age", "d", 0, 100),
        number_axis("alive", "share", 0, 1),
        (Steps("s", Role.MAIN, xs, ys, 100.0),),
    )
    drawing = layout(chart, size[0], size[1], letter_measure, scale=size[2])
    line = next(s for s in drawing.shapes if isinstance(s, Polyline) and s.paint is Role.MAIN)
    left, top, right, bottom = drawing.plot
    assert len(line.points) == 2 * len(xs)
    for i, (x, y) in enumerate(points):
        end = xs[i + 1] if i + 1 < len(xs) else 100.0
        expected = [(left + (right - left) * at / 100, bottom - (bottom - top) * y) for at in (x, end)]
        for seen, wanted in zip(line.points[2 * i : 2 * i + 2], expected, strict=True):
            assert seen == pytest.approx(wanted, abs=1e-6)


@some
@given(st.lists(st.tuples(st.floats(0, 60), values), min_size=1, max_size=600))
def test_thinning_keeps_the_extremes_of_every_pixel_column(points):
    points = sorted(points)
    px, heights = [x for x, _ in points], [y for _, y in points]
    kept = kept_of_columns(px, heights)
    assert {0, len(px) - 1} <= set(kept)
    assert len(kept) <= max(100, 4 * (int(px[-1]) - int(px[0]) + 1))
    for column in {int(x) for x in px}:
        every = [heights[i] for i in range(len(px)) if int(px[i]) == column]
        left = [heights[i] for i in kept if int(px[i]) == column]
        assert (min(left), max(left)) == (min(every), max(every))


@some
@given(st.lists(st.tuples(st.floats(0, 300), st.floats(0, 200)), min_size=1, max_size=300))
def test_thinned_dots_keep_one_of_every_cell_and_the_outermost(points):
    kept = [points[i] for i in kept_of_cells(points, 2.0)]
    assert {(int(x / 2), int(y / 2)) for x, y in kept} == {(int(x / 2), int(y / 2)) for x, y in points}
    for k in (0, 1):
        assert min(p[k] for p in kept) == min(p[k] for p in points)
        assert max(p[k] for p in kept) == max(p[k] for p in points)


def test_twenty_thousand_points_are_drawn_as_a_few_for_each_pixel_column():
    chart = SAMPLES["long"]()
    drawing = layout(chart, 360, 300, letter_measure)
    line = next(s for s in drawing.shapes if isinstance(s, Polyline) and s.paint is Role.MAIN)
    assert len(line.points) <= 8 * (drawing.plot[2] - drawing.plot[0] + 2)
    top = min(y for _, y in line.points)
    share = (max(chart.series[0].y) - chart.y.minimum) / (chart.y.maximum - chart.y.minimum)
    assert top == pytest.approx(drawing.plot[3] - share * (drawing.plot[3] - drawing.plot[1]))
