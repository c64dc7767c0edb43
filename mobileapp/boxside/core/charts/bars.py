"""Bars from zero, with whiskers, and their numbers beside them where there is room."""

from __future__ import annotations

from boxside.core.charts.hatch import hatched
from boxside.core.charts.layer import Layer, Place
from boxside.core.charts.marks import Anchor, Hit, Ink, Point, Polyline, Rect, Shape
from boxside.core.charts.plane import is_known
from boxside.core.charts.ticks import place_label
from boxside.core.values.chart import Bars

_FULL = 0.8
_WIDEST_PX = 56.0


def bars_layer(series: Bars, place: Place) -> Layer:
    """Return the bars of a series; bars thinner than a pixel column are merged into the highest of it."""
    shown = _highest_of_columns(series, place)
    width = max(1.0, min(place.slot_px * _FULL, place.pen.px(_WIDEST_PX)))
    is_numbered = place.is_lone and len(set(series.x)) == len(series.x)
    below: list[Shape] = []
    above: list[Shape] = []
    hits = []
    for i in shown:
        x, y = series.x[i], series.y[i]
        foot, end = (place.plane.offset(place.plane.at(x, at), place.shift_px) for at in (0.0, y))
        below += _bar(foot, end, width, series, place)
        limits = (series.low[i], series.high[i]) if series.low and is_known(series.low[i], series.high[i]) else ()
        if limits:
            above += _whisker(x, limits, width, place)
        elif is_numbered:
            above += _number(y, foot, end, place)
        hits.append(Hit(*end, place.told(series.name, x, y, *limits)))
    return Layer(tuple(below), tuple(above), tuple(hits))


def _highest_of_columns(series: Bars, place: Place) -> list[int]:
    known = [i for i in range(len(series.x)) if is_known(series.x[i], series.y[i])]
    if len(known) <= place.plane.length:
        return known
    axis = 1 if place.plane.is_turned else 0
    best: dict[int, int] = {}
    for i in known:
        column = int(place.plane.at(series.x[i], 0.0)[axis])
        if column not in best or abs(series.y[i]) > abs(series.y[best[column]]):
            best[column] = i
    return sorted(best.values())


def _bar(foot: Point, end: Point, width: float, series: Bars, place: Place) -> list[Shape]:
    near, far = place.plane.offset(foot, -width / 2), place.plane.offset(end, width / 2)
    (left, right), (top, bottom) = sorted((near[0], far[0])), sorted((near[1], far[1]))
    rect = Rect(left, top, right - left, bottom - top, series.role)
    return [rect, *hatched(corners(rect), place.texture, place.pen.scale)]


def corners(rect: Rect) -> tuple[Point, ...]:
    """Return the corners of a rectangle in order."""
    right, bottom = rect.x + rect.width, rect.y + rect.height
    return (rect.x, rect.y), (right, rect.y), (right, bottom), (rect.x, bottom)


def _whisker(x: float, limits: tuple[float, ...], width: float, place: Place) -> list[Shape]:
    low, high = (place.plane.offset(place.plane.at(x, at), place.shift_px) for at in limits)
    cap = min(width / 2, place.pen.px(6))
    across = (0.0, cap) if place.plane.is_turned else (cap, 0.0)
    lines = [(low, high)]
    lines += [((p[0] - across[0], p[1] - across[1]), (p[0] + across[0], p[1] + across[1])) for p in (low, high)]
    # A rim in the colour of the ground keeps the whisker visible on its bar.
    rims = [Polyline(line, Ink.GROUND, place.pen.px(5)) for line in lines]
    return [*rims, *(Polyline(line, Ink.TEXT, place.pen.px(1.8)) for line in lines)]


def _number(y: float, foot: Point, end: Point, place: Place) -> list[Shape]:
    """The number of a bar, where bars stand alone in their slot and the text fits between them."""
    pen, plane = place.pen, place.plane
    words = place_label(plane.y, y).removesuffix(plane.y.unit).strip()
    wide, high = pen.width(words), pen.line
    if plane.is_turned:
        gap = pen.px(5)
        if high > min(place.slot_px, 2 * (end[1] - plane.box[1]), 2 * (plane.box[3] - end[1])):
            return []
        if end[0] + gap + wide <= plane.box[2]:
            return [pen.text(end[0] + gap, end[1] - high / 2, words)]
        return _inside(foot, end, words, place)
    top = min(foot[1], end[1]) - high - pen.px(1)
    room = 2 * min(end[0] - plane.box[0], plane.box[2] - end[0])
    fits = wide + pen.px(6) <= place.slot_px and top >= plane.box[1] and wide <= room
    return [pen.text(end[0], top, words, anchor=Anchor.MIDDLE)] if fits else []


def _inside(foot: Point, end: Point, words: str, place: Place) -> list[Shape]:
    """The number of a bar that reaches the edge, on a plate within the bar's end."""
    pen = place.pen
    wide, gap, high = pen.width(words), pen.px(5), pen.line
    if wide + 4 * gap > abs(end[0] - foot[0]):
        return []
    plate = Rect(end[0] - wide - 3 * gap, end[1] - high / 2, wide + 2 * gap, high, Ink.GROUND)
    return [plate, pen.text(plate.x + gap, plate.y, words)]
