"""Lines of steps: drawn exactly at their data, with bands and marks."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import replace

from boxside.core.charts.layer import Layer, Place
from boxside.core.charts.marks import Form, Hit, Marker, Point, Polyline, Shape, Strip
from boxside.core.charts.plane import Plane, is_known
from boxside.core.charts.style import dash, line_px
from boxside.core.charts.thinning import kept_of_columns
from boxside.core.values.chart import Steps

BAND_OPACITY = 0.18
_MARK_PX, _EDGE_PX = 5.5, 1.0


def steps_layer(series: Steps, place: Place) -> Layer:
    """Return a step line with its band below and its marks above."""
    known = _thinned(_known(series), place.plane)
    if not known.x:
        return Layer()
    pen, paint = place.pen, series.role
    width, pattern = pen.px(line_px(place.index)), dash(place.index, pen.scale)
    line = Polyline(_corners(known, known.y, place.plane), paint, width, pattern)
    marks = tuple(
        Marker(*place.plane.at(at, _height(known, at)), pen.px(_MARK_PX), Form.UPRIGHT, paint)
        for at in dict.fromkeys(series.marks)
        if is_known(at) and at >= known.x[0]
    )
    return Layer(_band(known, place), (line, *marks), _hits(known, place))


def _known(series: Steps) -> Steps:
    at = [i for i in range(len(series.x)) if is_known(series.x[i], series.y[i])]
    return _picked(series, at) if len(at) < len(series.x) else series


def _picked(series: Steps, at: list[int]) -> Steps:
    def pick(column: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(column[i] for i in at) if column else ()

    return replace(series, x=pick(series.x), y=pick(series.y), low=pick(series.low), high=pick(series.high))


def _thinned(series: Steps, plane: Plane) -> Steps:
    px = [plane.at(x, 0.0)[0] for x in series.x]
    columns = [column for column in (series.y, series.low, series.high) if column]
    kept = kept_of_columns(px, *columns)
    return series if len(kept) == len(series.x) else _picked(series, list(kept))


def _corners(series: Steps, heights: tuple[float, ...], plane: Plane) -> tuple[Point, ...]:
    """Every height is held from its x to the next x, the last one to where the line ends."""
    ends = (*series.x[1:], max(series.ends_at, series.x[-1]) if is_known(series.ends_at) else series.x[-1])
    corners: list[Point] = []
    for x, end, height in zip(series.x, ends, heights, strict=True):
        corners += [plane.at(x, height), plane.at(end, height)]
    return tuple(corners)


def _band(series: Steps, place: Place) -> tuple[Shape, ...]:
    if not series.low:
        return ()
    low = tuple(y if math.isnan(v) else v for v, y in zip(series.low, series.y, strict=True))
    high = tuple(y if math.isnan(v) else v for v, y in zip(series.high, series.y, strict=True))
    upper, lower = _corners(series, high, place.plane), _corners(series, low, place.plane)
    edge = place.pen.px(_EDGE_PX)
    pattern = dash(place.index, place.pen.scale)
    return (
        Strip(upper, lower, series.role, BAND_OPACITY),
        Polyline(upper, series.role, edge, pattern),
        Polyline(lower, series.role, edge, pattern),
    )


def _height(series: Steps, at: float) -> float:
    return series.y[max(0, bisect_right(series.x, at) - 1)]


def _hits(series: Steps, place: Place) -> tuple[Hit, ...]:
    hits = []
    for i, (x, y) in enumerate(zip(series.x, series.y, strict=True)):
        limits = (series.low[i], series.high[i]) if series.low and is_known(series.low[i], series.high[i]) else ()
        hits.append(Hit(*place.plane.at(x, y), place.told(series.name, x, y, *limits)))
    return tuple(hits)
