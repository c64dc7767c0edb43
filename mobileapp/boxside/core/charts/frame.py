"""The room around the data: title, legend, names of the axes and notes; what gives way where it is tight."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from boxside.core.charts.axes import axis_name, foot_lines, foot_top, side_room
from boxside.core.charts.legend import Entry, legend_rows, legend_shapes, row_height
from boxside.core.charts.marks import Anchor, Box, Ink, Shape
from boxside.core.charts.pen import Pen
from boxside.core.values.chart import Chart

PAD_PX = 8.0
_LEAST_LINES = 3.2
_NOTE_LINES = 4
_DATA_SHARE, _NAMES_SHARE = 0.45, 0.8


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands around the data, and the box that is left for it."""

    title: tuple[str, ...]
    rows: tuple[tuple[Entry, ...], ...]
    top_name: str
    foot_name: str
    notes: tuple[tuple[str, ...], ...]
    n_foot_lines: int
    side: float
    left_out: tuple[str, ...] = ()


def frame_of(
    chart: Chart, found: tuple[Entry, ...], pen: Pen, size: tuple[float, float], is_turned: bool, step: float
) -> tuple[Frame, Box]:
    """Return the frame of a chart in a size (width, height), with what has no room left out of it."""
    width, height = size
    inner = width - 2 * pen.px(PAD_PX)
    side_axis, foot_axis = (chart.x, chart.y) if is_turned else (chart.y, chart.x)
    side = side_room(side_axis, pen, width, step)
    notes = tuple(pen.wrap(note, inner, _NOTE_LINES) for note in chart.notes)
    frame = Frame(
        pen.wrap(chart.title, inner, 2, strong=True),
        legend_rows(found, pen, inner),
        pen.cut(axis_name(side_axis), inner),
        pen.cut(axis_name(foot_axis), inner),
        notes,
        foot_lines(foot_axis, pen, inner - side),
        side,
    )
    frame = _relieved(frame, chart, pen, height, is_turned)
    return frame, _plot_box(frame, pen, width, height)


def _relieved(frame: Frame, chart: Chart, pen: Pen, height: float, is_turned: bool) -> Frame:
    """Leave out the notes, then the title and so on, until the data has the height it needs."""
    names = tuple(entry.name for row in frame.rows for entry in row)
    steps: list[tuple[dict[str, Any], tuple[str, ...]]] = [
        ({"title": ()}, (chart.title,) if frame.title else ()),
        ({"foot_name": ""}, (frame.foot_name,) if frame.foot_name else ()),
        ({"top_name": ""}, (frame.top_name,) if frame.top_name else ()),
        ({"rows": ()}, names),
        ({"n_foot_lines": 1}, ()),
    ]
    if is_turned:
        # What names of places are names of is the first thing that can be missed.
        steps.insert(0, steps.pop(2))
    least = _LEAST_LINES * pen.line
    if is_turned:
        least = max(least, min(len(chart.x.ticks) * pen.line + 1, _NAMES_SHARE * height))
    frame = _fewer_notes(frame, chart, pen, height)
    for change, texts in steps:
        if _plot_height(frame, pen, height) >= least:
            break
        frame = replace(frame, **change, left_out=(*frame.left_out, *texts))
    return frame


def _fewer_notes(frame: Frame, chart: Chart, pen: Pen, height: float) -> Frame:
    """Leave out notes from the last on, until the data has its share of the height."""
    least = max(_LEAST_LINES * pen.line, _DATA_SHARE * height)
    while frame.notes and _plot_height(frame, pen, height) < least:
        frame = replace(frame, notes=frame.notes[:-1])
    return replace(frame, left_out=chart.notes[len(frame.notes) :])


def _plot_height(frame: Frame, pen: Pen, height: float) -> float:
    return height - _above(frame, pen) - _below(frame, pen)


def _above(frame: Frame, pen: Pen) -> float:
    title = len(frame.title) * pen.title_line + (pen.px(4) if frame.title else 0.0)
    legend = len(frame.rows) * row_height(pen) + (pen.px(3) if frame.rows else 0.0)
    name = pen.line if frame.top_name else 0.0
    return pen.px(PAD_PX) + title + legend + name + pen.line * 0.5 + pen.px(2)


def _below(frame: Frame, pen: Pen) -> float:
    labels = foot_top((0, 0, 0, 0), pen) + frame.n_foot_lines * pen.line
    name = pen.line if frame.foot_name else 0.0
    notes = sum(map(len, frame.notes)) * pen.line + (pen.px(5) if frame.notes else 0.0)
    return labels + name + notes + pen.px(PAD_PX)


def _plot_box(frame: Frame, pen: Pen, width: float, height: float) -> Box:
    left, right = pen.px(PAD_PX) + frame.side, width - pen.px(PAD_PX + 4)
    return left, _above(frame, pen), max(right, left + 1), max(height - _below(frame, pen), _above(frame, pen) + 1)


def frame_shapes(frame: Frame, box: Box, pen: Pen, width: float, height: float) -> tuple[Shape, ...]:
    """Return the texts and keys around the data."""
    left = pen.px(PAD_PX)
    shapes: list[Shape] = []
    top = left
    for words in frame.title:
        shapes.append(pen.title(left, top, words))
        top += pen.title_line
    top += pen.px(4) if frame.title else 0.0
    shapes += legend_shapes(frame.rows, pen, left, top, width - 2 * left)
    if frame.top_name:
        y = box[1] - pen.line * 1.5 - pen.px(2)
        shapes.append(pen.text(left, y, frame.top_name, Ink.SOFT))
    return (*shapes, *_foot(frame, box, pen, width, height))


def _foot(frame: Frame, box: Box, pen: Pen, width: float, height: float) -> list[Shape]:
    left = pen.px(PAD_PX)
    shapes: list[Shape] = []
    if frame.foot_name:
        y = foot_top(box, pen) + frame.n_foot_lines * pen.line
        half = pen.width(frame.foot_name) / 2
        middle = max(left + half, min((box[0] + box[2]) / 2, width - left - half))
        shapes.append(pen.text(middle, y, frame.foot_name, Ink.SOFT, Anchor.MIDDLE))
    lines = [line for note in frame.notes for line in note]
    top = height - left - len(lines) * pen.line
    for k, words in enumerate(lines):
        shapes.append(pen.text(left, top + k * pen.line, words, Ink.SOFT))
    return shapes


def is_empty(chart: Chart) -> bool:
    """Whether there is nothing to draw."""
    return not any(series.x for series in chart.series)
