"""The axes of a plane: which ticks have room, how much room their labels take, lines and labels."""

from __future__ import annotations

from itertools import islice

from boxside.core.charts.marks import Anchor, Box, Ink, Polyline, Shape
from boxside.core.charts.pen import Pen
from boxside.core.charts.plane import Plane
from boxside.core.charts.ticks import Span, choices, fitting
from boxside.core.values.chart import Axis, AxisKind, Bars, Chart, Dots, Tick

_TICK_PX, _GAP_PX, _APART_PX = 5.0, 7.0, 9.0
_CATEGORY_LINES = 3
_MOST_SIDE, _MOST_NAMES = 0.4, 0.55
_LEAST_LETTERS = 4


def axis_name(axis: Axis) -> str:
    """Return the label of an axis with its unit."""
    return f"{axis.label} ({axis.unit})" if axis.label and axis.unit else axis.label or axis.unit


def least_step(chart: Chart) -> float:
    """Return 1 where all heights are whole numbers, as of animals: half an animal is not marked; else 0."""
    columns = [s.y for s in chart.series if isinstance(s, Bars | Dots)]
    is_whole = len(columns) == len(chart.series) and all(
        y == int(y) for column in columns for y in column if abs(y) < 1e9
    )
    return 1.0 if is_whole and chart.y.maximum - chart.y.minimum >= 1 else 0.0


def side_room(axis: Axis, pen: Pen, width: float, step: float) -> float:
    """Return the room that labels at the left need whatever set of ticks is chosen, gap included, px."""
    if axis.kind is AxisKind.CATEGORY:
        most = _MOST_NAMES * width
        need = max((pen.width(tick.label) for tick in axis.ticks), default=0.0)
    else:
        most = _MOST_SIDE * width
        labels = {tick.label for ticks in islice(choices(axis, step), 12) for tick in ticks}
        need = max((pen.width(label) for label in labels), default=0.0)
    # Half a pixel more, so that rounding cuts no label.
    return min(most, need) + 0.5 + pen.px(_GAP_PX)


def side_shapes(plane: Plane, pen: Pen, room: float, step: float) -> tuple[tuple[Shape, ...], tuple[Tick, ...]]:
    """Return the labels at the left of a plane, and the ticks they stand at."""
    axis = plane.x if plane.is_turned else plane.y
    top, bottom = plane.box[1], plane.box[3]
    width = room - pen.px(_GAP_PX)
    n_lines = 1
    if axis.kind is AxisKind.CATEGORY:
        slot = (bottom - top) / max(1, len(axis.ticks))
        n_lines = 2 if slot >= 2 * pen.line + pen.px(2) else 1

    def span(tick: Tick) -> Span:
        middle = _side_at(plane, tick)
        return middle - n_lines * pen.line / 2, middle + n_lines * pen.line / 2

    most = max(2, int((bottom - top) / (1.9 * pen.line))) if axis.kind is not AxisKind.CATEGORY else 10_000
    ticks = fitting(choices(axis, step), span, 0.0, most)
    shapes: list[Shape] = []
    for tick in ticks:
        lines = pen.wrap(tick.label, width, n_lines)
        y = _side_at(plane, tick) - len(lines) * pen.line / 2
        for k, words in enumerate(lines):
            at = plane.box[0] - pen.px(_GAP_PX)
            shapes.append(pen.text(at, y + k * pen.line, words, Ink.TEXT, Anchor.END))
    return tuple(shapes), ticks


def _side_at(plane: Plane, tick: Tick) -> float:
    return plane.at(tick.at, plane.y.minimum)[1] if plane.is_turned else plane.at(plane.x.minimum, tick.at)[1]


def _foot_at(plane: Plane, tick: Tick) -> float:
    return plane.at(plane.x.minimum, tick.at)[0] if plane.is_turned else plane.at(tick.at, plane.y.minimum)[0]


def is_better_turned(chart: Chart, pen: Pen, width: float) -> bool:
    """Whether names of places would be cut below the plot, so that the chart is better read from the side."""
    if chart.x.kind is not AxisKind.CATEGORY or not all(isinstance(s, Bars | Dots) for s in chart.series):
        return False
    slot = slot_px(chart.x, width) - pen.px(_APART_PX) / 2
    return not all(pen.fits(tick.label, slot, _CATEGORY_LINES) for tick in chart.x.ticks)


def slot_px(axis: Axis, width: float) -> float:
    """Return the room of one place of a category axis, px."""
    return width / (axis.maximum - axis.minimum)


def foot_lines(axis: Axis, pen: Pen, width: float) -> int:
    """Return how many lines the labels below the plot take."""
    if axis.kind is not AxisKind.CATEGORY:
        return 1
    every, room = _name_room(axis, pen, width)
    shown = axis.ticks[::every]
    return max((len(pen.wrap(tick.label, room, _CATEGORY_LINES)) for tick in shown), default=1) or 1


def _name_room(axis: Axis, pen: Pen, width: float) -> tuple[int, float]:
    """Every how many-th name is written, and its room: where a slot holds no four letters, not every name."""
    slot = slot_px(axis, width)
    every = max(1, -int(-pen.width("m" * _LEAST_LETTERS) // slot))
    return every, slot * every - pen.px(_APART_PX) / 2


def foot_shapes(
    plane: Plane, pen: Pen, frame_width: float, step: float, n_lines: int
) -> tuple[tuple[Shape, ...], tuple[Tick, ...]]:
    """Return the labels below a plane, and the ticks they stand at."""
    axis = plane.y if plane.is_turned else plane.x
    if axis.kind is AxisKind.CATEGORY:
        return _names_below(plane, axis, pen, frame_width, n_lines)

    def span(tick: Tick) -> Span:
        left = _inside(_foot_at(plane, tick), pen.width(tick.label), frame_width, pen)
        return left, left + pen.width(tick.label)

    length = plane.box[2] - plane.box[0]
    ticks = fitting(choices(axis, step), span, pen.px(_APART_PX), max(1, int(length / pen.px(44)) + 1))
    top = foot_top(plane.box, pen)
    return tuple(pen.text(span(tick)[0], top, tick.label) for tick in ticks), ticks


def foot_top(box: Box, pen: Pen) -> float:
    """Return where the labels below the plot begin: clear of the lowest label at the left."""
    return box[3] + max(pen.px(_GAP_PX), pen.line * 0.5 + 1)


def _inside(middle: float, wide: float, frame_width: float, pen: Pen) -> float:
    edge = pen.px(2)
    return max(edge, min(middle - wide / 2, frame_width - edge - wide))


def _names_below(
    plane: Plane, axis: Axis, pen: Pen, frame_width: float, n_lines: int
) -> tuple[tuple[Shape, ...], tuple[Tick, ...]]:
    """Names of places in their slots, in at most so many lines."""
    every, wide = _name_room(axis, pen, plane.box[2] - plane.box[0])
    edge = pen.px(2)
    shapes: list[Shape] = []
    ticks = axis.ticks[::every]
    for tick in ticks:
        middle = _foot_at(plane, tick)
        room = min(wide, 2 * min(middle - edge, frame_width - edge - middle))
        for k, words in enumerate(pen.wrap(tick.label, room, n_lines)):
            shapes.append(pen.text(middle, foot_top(plane.box, pen) + k * pen.line, words, Ink.TEXT, Anchor.MIDDLE))
    return tuple(shapes), ticks


def grid_shapes(plane: Plane, pen: Pen, side: tuple[Tick, ...], foot: tuple[Tick, ...]) -> tuple[Shape, ...]:
    """Return the lines behind the data, at the ticks of the axis that measures."""
    left, top, right, bottom = plane.box
    thin = pen.px(1)
    if plane.is_turned:
        return tuple(Polyline(((x, top), (x, bottom)), Ink.GRID, thin) for x in (_foot_at(plane, t) for t in foot))
    return tuple(Polyline(((left, y), (right, y)), Ink.GRID, thin) for y in (_side_at(plane, t) for t in side))


def axis_shapes(plane: Plane, pen: Pen, foot: tuple[Tick, ...]) -> tuple[Shape, ...]:
    """Return the line the data stands on, and tick marks below the plot where it measures."""
    left, top, right, bottom = plane.box
    zero = plane.at(plane.x.minimum, min(max(0.0, plane.y.minimum), plane.y.maximum))
    width = pen.px(1.4)
    if plane.is_turned:
        return (Polyline(((zero[0], top), (zero[0], bottom)), Ink.AXIS, width),)
    base = Polyline(((left, zero[1]), (right, zero[1])), Ink.AXIS, width)
    if plane.x.kind is AxisKind.CATEGORY:
        return (base,)
    spots = (_foot_at(plane, tick) for tick in foot)
    return (base, *(Polyline(((x, bottom), (x, bottom + pen.px(_TICK_PX))), Ink.AXIS, width) for x in spots))
