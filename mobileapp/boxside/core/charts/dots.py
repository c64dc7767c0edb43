"""One dot for each value, moved aside where dots would lie on each other, with quartile boxes behind."""

from __future__ import annotations

import math

from boxside.core.charts.layer import Layer, Place
from boxside.core.charts.marks import Hit, Point, Polyline, Rect, Shape, signs
from boxside.core.charts.plane import is_known
from boxside.core.charts.style import form, is_hollow
from boxside.core.charts.thinning import kept_of_cells
from boxside.core.values.chart import Dots, QuartileBox

_RADIUS_PX, _BOX_OPACITY = 3.6, 0.2
_GOLDEN = (math.sqrt(5) - 1) / 2


def dots_layer(series: Dots, place: Place) -> Layer:
    """Return the dots of a series above its quartile boxes."""
    plane = place.plane
    known = [(x, y) for x, y in zip(series.x, series.y, strict=True) if is_known(x, y)]
    points = [plane.offset(plane.at(x, y), place.shift_px) for x, y in known]
    radius = place.pen.px(_RADIUS_PX)
    moved = _aside(points, 2 * radius, max(0.0, place.slot_px * 0.42 - radius), plane.is_turned)
    spots = [plane.offset(spot, 0.0) for spot in moved]
    kept = kept_of_cells(spots, max(1.0, place.pen.scale))
    sign = form(place.index)
    hollow = is_hollow(place.index)
    markers = tuple(m for i in kept for m in signs(*spots[i], radius, sign, series.role, hollow))
    hits = tuple(Hit(*spots[i], place.told(series.name, *known[i])) for i in kept)
    boxes = [_box(box, series, place) for box in series.boxes if is_known(box.x, box.lower, box.median, box.upper)]
    return Layer(tuple(s for box in boxes for s in box.below), markers, (*hits, *(h for b in boxes for h in b.hits)))


def _aside(points: list[Point], apart: float, most: float, is_turned: bool) -> list[Point]:
    if not is_turned:
        return aside(points, apart, most)
    return [(y, x) for x, y in aside([(y, x) for x, y in points], apart, most)]


def aside(points: list[Point], apart: float, most: float) -> list[Point]:
    """Return the points, each moved sideways by the least that clears those before it, at most `most` px.

    The same points are always moved alike. Where a crowd leaves no free place the golden ratio spreads them.
    """
    moved = list(points)
    done: list[Point] = []
    for rank, i in enumerate(sorted(range(len(points)), key=lambda i: (points[i][1], points[i][0], i))):
        x, y = points[i]
        near = [p for p in done[-60:] if abs(p[1] - y) < apart and abs(p[0] - x) < 2 * most + apart]
        offset = _free_offset(x, y, near, apart, most)
        if offset is None:
            offset = ((rank * _GOLDEN) % 1.0 * 2 - 1) * most
        moved[i] = (x + offset, y)
        done.append(moved[i])
    return moved


def _free_offset(x: float, y: float, near: list[Point], apart: float, most: float) -> float | None:
    step = apart / 4
    for k in range(int(most / step) + 1):
        for offset in (k * step, -k * step):
            if all(math.hypot(p[0] - x - offset, p[1] - y) >= apart * 0.98 for p in near):
                return offset
    return None


def _box(box: QuartileBox, series: Dots, place: Place) -> Layer:
    half, pen, plane = _half_width(place), place.pen, place.plane
    low, middle, high = (plane.at(box.x, y) for y in (box.lower, box.median, box.upper))
    near, far = place.shift_px - half, place.shift_px + half
    edge = tuple(plane.offset(at, by) for at, by in ((low, near), (low, far), (high, far), (high, near), (low, near)))
    left, right = sorted((edge[0][0], edge[2][0]))
    top, bottom = sorted((edge[0][1], edge[2][1]))
    shapes: tuple[Shape, ...] = (
        Rect(left, top, right - left, bottom - top, series.role, _BOX_OPACITY),
        Polyline(edge, series.role, pen.px(1.2)),
        Polyline((plane.offset(middle, near), plane.offset(middle, far)), series.role, pen.px(3)),
    )
    label = place.told(series.name, box.x, box.median, box.lower, box.upper)
    return Layer(shapes, (), (Hit(*plane.offset(middle, place.shift_px), label),))


def _half_width(place: Place) -> float:
    return min(place.pen.px(26), max(place.pen.px(3), place.slot_px * 0.42))
