"""One layout for screens and files: a chart and a size in, every place in px out."""

from __future__ import annotations

from itertools import pairwise

from boxside.core.charts.axes import (
    axis_name,
    axis_shapes,
    foot_shapes,
    grid_shapes,
    is_better_turned,
    least_step,
    side_shapes,
)
from boxside.core.charts.bands import bands_layer, named_layers
from boxside.core.charts.bars import bars_layer
from boxside.core.charts.dots import dots_layer
from boxside.core.charts.frame import PAD_PX, frame_of, frame_shapes, is_empty
from boxside.core.charts.layer import Layer, Place
from boxside.core.charts.legend import entries
from boxside.core.charts.marks import Anchor, Drawing, Ink, Measure, Rect, Shape
from boxside.core.charts.pen import Pen
from boxside.core.charts.plane import Plane
from boxside.core.charts.steps import steps_layer
from boxside.core.charts.style import textures
from boxside.core.charts.ticks import place_label
from boxside.core.values.chart import Bands, Bars, Chart, Dots, Series

_LEAST_LETTERS = 8


def layout(chart: Chart, width: float, height: float, measure: Measure, *, scale: float = 1.0) -> Drawing:
    """Return a chart as shapes in px from the top left, with what can be tapped.

    Parameters
    ----------
    width, height : size of the picture, px
    measure : (text, font size in px) -> width and height of the text in px; fonts belong to renderers
    scale : 1 sets text at 16 px; on a screen pass its px for one sp

    Raises
    ------
    ValueError : if scale is not above 0

    Notes
    -----
    No text lies on another and nothing leaves the picture. Where room is short, notes, title, names
    of axes and the legend are left out in this order and listed in `left_out`. A picture too small for
    eight letters is empty.
    """
    if not scale > 0:
        raise ValueError(f"scale {scale} is not above 0")
    pen = Pen(measure, scale)
    texts = (chart.title, *chart.notes)
    if width < pen.width("m" * _LEAST_LETTERS) or height < 4 * pen.line:
        return Drawing(
            width, height, (_ground(width, height),), (), (0, 0, width, height), texts, chart.title, about(chart)
        )
    return _empty(chart, width, height, pen) if is_empty(chart) else _drawn(chart, width, height, pen)


def _ground(width: float, height: float) -> Rect:
    return Rect(0.0, 0.0, width, height, Ink.GROUND)


def _empty(chart: Chart, width: float, height: float, pen: Pen) -> Drawing:
    """The title, and in the middle why there is nothing yet."""
    pad = pen.px(PAD_PX)
    title = pen.wrap(chart.title, width - 2 * pad, 2, strong=True)
    words = f"nothing yet: {chart.nothing}" if chart.nothing else "nothing yet"
    shown = [pen.title(pad, pad + k * pen.title_line, line) for k, line in enumerate(title)]
    top = 2 * pad + len(title) * pen.title_line
    n_most = int((height - pad - top) / pen.line)
    if n_most < 1:
        shown, top = [], pad
        n_most = int((height - 2 * pad) / pen.line)
    lines = pen.wrap(words, width - 2 * pad, n_most)
    y = top + (height - pad - top - len(lines) * pen.line) / 2
    shown += [pen.text(width / 2, y + k * pen.line, line, Ink.SOFT, Anchor.MIDDLE) for k, line in enumerate(lines)]
    left_out = (*(() if shown[0].strong else (chart.title,)), *chart.notes)
    box = (pad, top, width - pad, height - pad)
    return Drawing(width, height, (_ground(width, height), *shown), (), box, left_out, chart.title, about(chart))


def _drawn(chart: Chart, width: float, height: float, pen: Pen) -> Drawing:
    step = least_step(chart)
    is_turned = is_better_turned(chart, pen, width - pen.px(2 * PAD_PX) - pen.width("00.0"))
    bands = tuple(series for series in chart.series if isinstance(series, Bands))
    plates: dict[str, tuple[Shape, ...]] = {}
    named = frozenset(band.name for band in bands)
    while True:
        # Names inside the layers make the legend shorter; fewer names can only make it longer again.
        frame, box = frame_of(chart, entries(chart, named), pen, (width, height), is_turned, step)
        plane = Plane(box, chart.x, chart.y, is_turned)
        plates = named_layers(tuple(band for band in bands if band.name in named), plane, pen)
        if len(plates) == len(named):
            break
        named = frozenset(plates)
    layers = _layers(chart, plane, pen)
    side, side_ticks = side_shapes(plane, pen, frame.side, 0.0 if is_turned else step)
    foot, foot_ticks = foot_shapes(plane, pen, width, step if is_turned else 0.0, frame.n_foot_lines)
    shapes = (
        _ground(width, height),
        *grid_shapes(plane, pen, side_ticks, foot_ticks),
        *(s for layer in layers for s in layer.below),
        *axis_shapes(plane, pen, foot_ticks),
        *(s for layer in layers for s in layer.above),
        *(s for p in plates.values() for s in p),
        *side,
        *foot,
        *frame_shapes(frame, box, pen, width, height),
    )
    hits = tuple(hit for layer in layers for hit in layer.hits)
    return Drawing(width, height, shapes, hits, box, frame.left_out, chart.title, about(chart))


def _layers(chart: Chart, plane: Plane, pen: Pen) -> tuple[Layer, ...]:
    return tuple(_layer(series, _place(chart, index, plane, pen)) for index, series in enumerate(chart.series))


def _layer(series: Series, place: Place) -> Layer:
    if isinstance(series, Bars):
        return bars_layer(series, place)
    if isinstance(series, Dots):
        return dots_layer(series, place)
    return bands_layer(series, place) if isinstance(series, Bands) else steps_layer(series, place)


def _place(chart: Chart, index: int, plane: Plane, pen: Pen) -> Place:
    """Series of a kind that share an x stand side by side there, each in a slot."""
    series = chart.series[index]
    kin = [i for i, other in enumerate(chart.series) if type(other) is type(series)]
    xs = [frozenset(chart.series[i].x) for i in kin]
    is_shared = isinstance(series, Bars | Dots) and len(frozenset().union(*xs)) < sum(len(x) for x in xs)
    # Dots of series that interleave may come close; bars may not.
    spots = sorted(frozenset(series.x) if isinstance(series, Dots) else frozenset().union(*xs))
    gap = min((after - before for before, after in pairwise(spots)), default=1.0)
    gap_px = plane.length * min(1.0, gap / (plane.x.maximum - plane.x.minimum))
    slot, n_slots = (kin.index(index), len(kin)) if is_shared else (0, 1)
    gap_px /= len(kin) if isinstance(series, Dots) and not is_shared else 1
    return Place(plane, pen, index, textures(chart)[index], slot, n_slots, gap_px, len(chart.series) == 1)


def about(chart: Chart) -> str:
    """Return a chart in words, for who cannot see it: its axes, and each series with its number of points and ends."""
    words = [f"{axis_name(chart.y) or 'value'} by {axis_name(chart.x) or 'place'}."]
    for series in chart.series:
        if not series.x:
            continue
        heights = series.high if isinstance(series, Bands) else series.y
        first, last = place_label(chart.x, series.x[0]), place_label(chart.x, series.x[-1])
        low, high = place_label(chart.y, min(heights)), place_label(chart.y, max(heights))
        words.append(f"{series.name}: {len(series.x)} points, {first} to {last}, {low} to {high}.")
    if is_empty(chart):
        words.append(f"Nothing yet: {chart.nothing}." if chart.nothing else "Nothing yet.")
    return " ".join((*words, *chart.notes))


__all__ = ["about", "layout"]
