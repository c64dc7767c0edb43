"""Random charts of every kind, and what is asked of any drawing."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations

from hypothesis import strategies as st

from boxside.core.charts import Drawing, Hatch, Marker, Polyline, Rect, Strip, Text, outline
from boxside.core.tables.chart_svg import letter_measure
from boxside.core.values.chart import (
    Axis,
    AxisKind,
    Bars,
    Chart,
    Dots,
    QuartileBox,
    Role,
    Steps,
    category_axis,
    date_axis,
    number_axis,
    stacked,
)

__all__ = ["charts", "corners", "letter_measure", "meeting", "outside", "sizes"]

words = st.text("abcdefgh mnop", min_size=1, max_size=26)
roles = st.sampled_from(tuple(Role))
sizes = st.tuples(st.integers(320, 1200), st.integers(240, 1600), st.floats(1.0, 2.0))


@st.composite
def x_axes(draw: st.DrawFn) -> Axis:
    """Return an axis of any kind."""
    kind = draw(st.sampled_from(tuple(AxisKind)))
    if kind is AxisKind.CATEGORY:
        return category_axis(draw(words), tuple(draw(st.lists(words, min_size=1, max_size=9))))
    if kind is AxisKind.DATE:
        first = date(2024, 1, 1) + timedelta(days=draw(st.integers(0, 900)))
        return date_axis(draw(words), first, first + timedelta(days=draw(st.integers(0, 4000))))
    return number_axis(draw(words), "d", draw(st.floats(-50, 0)), draw(st.floats(0.5, 1e5)))


@st.composite
def charts(draw: st.DrawFn) -> Chart:
    """Return a chart of one to four series of one kind, with texts of any length."""
    x = draw(x_axes())
    y = number_axis(draw(words), draw(st.sampled_from(("", "mm", "share"))), 0.0, draw(st.floats(0.01, 1e6)))
    kind = draw(st.sampled_from(("steps", "dots", "bars", "bands")))
    n = draw(st.integers(1, 4))
    names = draw(st.lists(words, min_size=n, max_size=n, unique=True))
    shares = st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=25)
    columns = [sorted(draw(shares)) for _ in range(n)]
    places = [tuple(_at(x, share) for share, _ in column) for column in columns]
    heights = [tuple(y.maximum * share for _, share in column) for column in columns]
    series: list = []
    for name, xs, ys in zip(names, places, heights, strict=True):
        role = draw(roles)
        if kind == "steps":
            low, high = tuple(v * 0.8 for v in ys), tuple(min(y.maximum, v * 1.1) for v in ys)
            series.append(Steps(name, role, xs, ys, xs[-1], low, high, xs[::3], "left"))
        elif kind == "dots":
            series.append(Dots(name, role, xs, ys, (QuartileBox(xs[0], ys[0] * 0.5, ys[0] * 0.7, ys[0]),)))
        elif kind == "bars":
            series.append(Bars(name, role, xs, ys))
    if kind == "bands":
        layers = tuple((name, draw(roles), tuple(v / n for v in heights[0])) for name in names)
        series = list(stacked(layers, places[0]))
    notes = tuple(draw(st.lists(words, max_size=3)))
    return Chart(draw(words), x, y, tuple(series), notes)


def _at(axis: Axis, share: float) -> float:
    if axis.kind is AxisKind.CATEGORY:
        return float(int(share * (len(axis.ticks) - 1) + 0.5))
    return axis.minimum + share * (axis.maximum - axis.minimum)


def corners(shape: object) -> list[tuple[float, float]]:
    """Return the outermost points of a shape, half the width of lines included."""
    if isinstance(shape, Text):
        left, top, right, bottom = shape.box
        return [(left, top), (right, bottom)]
    if isinstance(shape, Rect):
        return [(shape.x, shape.y), (shape.x + shape.width, shape.y + shape.height)]
    if isinstance(shape, Strip):
        return [*shape.upper, *shape.lower]
    if isinstance(shape, Marker):
        return list(outline(shape))
    points = [p for segment in shape.segments for p in segment] if isinstance(shape, Hatch) else list(shape.points)
    assert isinstance(shape, Hatch | Polyline)
    half = shape.width / 2
    return [(x + dx, y + dy) for x, y in points for dx, dy in ((-half, -half), (half, half))]


def outside(drawing: Drawing) -> list[object]:
    """Return the shapes that leave the picture by more than a hundredth of a px."""
    slack = 0.01
    return [
        shape
        for shape in drawing.shapes
        if any(
            not (-slack <= x <= drawing.width + slack and -slack <= y <= drawing.height + slack)
            for x, y in corners(shape)
        )
    ]


def meeting(drawing: Drawing) -> list[tuple[str, str]]:
    """Return the pairs of texts whose boxes share more than a hundredth of a px."""
    found = []
    for one, other in combinations(drawing.texts, 2):
        a, b = one.box, other.box
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.01 and min(a[3], b[3]) - max(a[1], b[1]) > 0.01:
            found.append((one.text, other.text))
    return found
