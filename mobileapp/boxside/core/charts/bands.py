"""Layers of a stacked timeline, each named inside where it is thick enough."""

from __future__ import annotations

from itertools import pairwise

from boxside.core.charts.hatch import hatched
from boxside.core.charts.layer import Layer, Place
from boxside.core.charts.marks import Box, Hit, Ink, Point, Polyline, Rect, Shape, Strip, is_meeting
from boxside.core.charts.pen import Pen
from boxside.core.charts.plane import Plane, is_known
from boxside.core.charts.thinning import kept_of_columns
from boxside.core.values.chart import Bands

_SEAM_PX, _PLATE_PX = 1.6, 4.0
_TRIES = 40


def edges(series: Bands, plane: Plane) -> tuple[tuple[Point, ...], tuple[Point, ...], tuple[int, ...]]:
    """Return the upper and lower edge in px, and which points of the series they are."""
    known = [i for i in range(len(series.x)) if is_known(series.x[i], series.low[i], series.high[i])]
    px = [plane.at(series.x[i], 0.0)[0] for i in known]
    low, high = [series.low[i] for i in known], [series.high[i] for i in known]
    kept = tuple(known[k] for k in kept_of_columns(px, low, high))
    upper = tuple(plane.at(series.x[i], series.high[i]) for i in kept)
    lower = tuple(plane.at(series.x[i], series.low[i]) for i in kept)
    return upper, lower, kept


def bands_layer(series: Bands, place: Place) -> Layer:
    """Return one layer as a strip with its texture, parted from the next by a seam."""
    upper, lower, kept = edges(series, place.plane)
    if len(kept) < 2:
        return Layer()
    pen = place.pen
    texture = hatched((*upper, *reversed(lower)), place.texture, pen.scale)
    seam = Polyline(lower, Ink.GROUND, pen.px(_SEAM_PX))
    hits = []
    for i, high, low in zip(kept, upper, lower, strict=True):
        thick = series.high[i] - series.low[i]
        if thick > 0:
            middle = (high[0], (high[1] + low[1]) / 2)
            hits.append(Hit(*middle, place.told(series.name, series.x[i], thick)))
    return Layer((Strip(upper, lower, series.role), *texture), (seam,), tuple(hits))


def band_name(series: Bands, plane: Plane, pen: Pen, taken: tuple[Box, ...]) -> tuple[Shape, ...]:
    """Return the name of a layer on a plate inside it, or nothing where it is too thin or the room is taken."""
    upper, lower, _ = edges(series, plane)
    margin = pen.px(_PLATE_PX)
    wide, high = pen.width(series.name) + 2 * margin, pen.line
    best: tuple[float, float, float] | None = None
    first, last = (upper[0][0], upper[-1][0] - wide) if upper else (0.0, -1.0)
    for n in range(_TRIES + 1 if last >= first else 0):
        left = first + (last - first) * n / _TRIES
        top, bottom = _clear(upper, lower, left, left + wide)
        box = (left, (top + bottom - high) / 2, left + wide, (top + bottom + high) / 2)
        if bottom - top >= high + margin and not any(is_meeting(box, other) for other in taken):
            best = max(best or (0.0, 0.0, 0.0), (bottom - top, left, box[1]))
    if best is None:
        return ()
    _, left, top = best
    plate = Rect(left, top, wide, high, Ink.GROUND)
    return plate, pen.text(left + margin, top, series.name)


def _clear(upper: tuple[Point, ...], lower: tuple[Point, ...], left: float, right: float) -> tuple[float, float]:
    """Lowest upper edge and highest lower edge (in px downwards) between two places."""
    tops = [y for x, y in upper if left <= x <= right] + [_between(upper, left), _between(upper, right)]
    bottoms = [y for x, y in lower if left <= x <= right] + [_between(lower, left), _between(lower, right)]
    return max(tops), min(bottoms)


def _between(line: tuple[Point, ...], at: float) -> float:
    for (x0, y0), (x1, y1) in pairwise(line):
        if x0 <= at <= x1:
            return y0 if x1 == x0 else y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return line[0][1] if at < line[0][0] else line[-1][1]


def named_layers(layers: tuple[Bands, ...], plane: Plane, pen: Pen) -> dict[str, tuple[Shape, ...]]:
    """Return the name plates of the layers that have room for one, by the name of the layer."""
    plates: dict[str, tuple[Shape, ...]] = {}
    taken: tuple[Box, ...] = ()
    for layer in layers:
        plate = band_name(layer, plane, pen, taken)
        if plate:
            plates[layer.name] = plate
            taken = (*taken, *(_box(shape) for shape in plate if isinstance(shape, Rect)))
    return plates


def _box(rect: Rect) -> Box:
    return rect.x, rect.y, rect.x + rect.width, rect.y + rect.height
