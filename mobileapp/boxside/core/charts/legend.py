"""The legend: the key of every series that is not named inside the picture, in rows that fit the width."""

from __future__ import annotations

from dataclasses import dataclass

from boxside.core.charts.bars import corners
from boxside.core.charts.hatch import hatched
from boxside.core.charts.marks import Form, Ink, Paint, Polyline, Rect, Shape, signs
from boxside.core.charts.pen import Pen
from boxside.core.charts.style import Texture, dash, form, is_hollow, line_px, textures
from boxside.core.values.chart import Chart, Dots, Steps

_KEY_PX, _GAP_PX, _APART_PX, _ROW_PX = 30.0, 6.0, 16.0, 3.0


@dataclass(frozen=True, slots=True)
class Entry:
    """A name and what its key is drawn as: a line, a marker, or else an area with a texture."""

    name: str
    paint: Paint
    index: int
    texture: Texture = Texture.PLAIN
    is_line: bool = False
    sign: Form | None = None


def entries(chart: Chart, named: frozenset[str]) -> tuple[Entry, ...]:
    """Return what the legend explains: the series not `named` elsewhere, and what marks on lines mean."""
    found: list[Entry] = []
    for index, (series, texture) in enumerate(zip(chart.series, textures(chart), strict=True)):
        if series.name in named or len(chart.series) == 1:
            continue
        sign = form(index) if isinstance(series, Dots) else None
        found.append(Entry(series.name, series.role, index, texture, isinstance(series, Steps), sign))
    marks = {s.marks_name for s in chart.series if isinstance(s, Steps) and s.marks and s.marks_name}
    return (*found, *(Entry(name, Ink.SOFT, 0, sign=Form.UPRIGHT) for name in sorted(marks)))


def legend_rows(found: tuple[Entry, ...], pen: Pen, width: float) -> tuple[tuple[Entry, ...], ...]:
    """Return the entries in rows no wider than `width`; an entry wider than that has a row of its own."""
    rows: list[tuple[Entry, ...]] = []
    left = 0.0
    for entry in found:
        wide = _wide(entry, pen)
        if rows and wide <= left:
            rows[-1] = (*rows[-1], entry)
            left -= wide + pen.px(_APART_PX)
        else:
            rows.append((entry,))
            left = width - wide - pen.px(_APART_PX)
    return tuple(rows)


def _wide(entry: Entry, pen: Pen) -> float:
    return pen.px(_KEY_PX + _GAP_PX) + pen.width(entry.name)


def row_height(pen: Pen) -> float:
    """Return the height of one row, px."""
    return pen.line + pen.px(_ROW_PX)


def legend_shapes(
    rows: tuple[tuple[Entry, ...], ...], pen: Pen, left: float, top: float, width: float
) -> tuple[Shape, ...]:
    """Return keys and names of all rows from `left` and `top`."""
    shapes: list[Shape] = []
    for n, row in enumerate(rows):
        x, y = left, top + n * row_height(pen)
        for entry in row:
            shapes += _key(entry, pen, x, y)
            start = x + pen.px(_KEY_PX + _GAP_PX)
            shapes.append(pen.text(start, y, pen.cut(entry.name, left + width - start)))
            x += _wide(entry, pen) + pen.px(_APART_PX)
    return tuple(shapes)


def _key(entry: Entry, pen: Pen, x: float, y: float) -> tuple[Shape, ...]:
    middle, wide = y + pen.line / 2, pen.px(_KEY_PX)
    if entry.is_line:
        points = ((x, middle), (x + wide, middle))
        return (Polyline(points, entry.paint, pen.px(line_px(entry.index)), dash(entry.index, pen.scale)),)
    if entry.sign is not None:
        hollow = is_hollow(entry.index) and entry.sign is not Form.UPRIGHT
        return signs(x + wide / 2, middle, pen.px(5.5), entry.sign, entry.paint, hollow)
    swatch = Rect(x, middle - pen.px(7), wide, pen.px(14), entry.paint)
    return (swatch, *hatched(corners(swatch), entry.texture, pen.scale))
