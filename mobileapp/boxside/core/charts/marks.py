"""What a drawn chart is made of: rectangles, lines, strips, markers and texts, in px from the top left.

A renderer fills in a colour for each paint and does nothing else: every place is decided here once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from boxside.core.values.chart import Role

Point = tuple[float, float]
Box = tuple[float, float, float, float]
_HOLLOW = 0.55
Measure = Callable[[str, float], tuple[float, float]]


class Ink(StrEnum):
    """What is not a series: the ground, texts, axes and the lines behind the data."""

    GROUND = "ground"
    TEXT = "text"
    SOFT = "soft"
    AXIS = "axis"
    GRID = "grid"


Paint = Role | Ink


class Form(StrEnum):
    """The outline of a marker."""

    CIRCLE = "circle"
    SQUARE = "square"
    TRIANGLE = "triangle"
    DIAMOND = "diamond"
    UPRIGHT = "upright"


class Anchor(StrEnum):
    """Which part of a text stands at its x."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Rect:
    """A filled rectangle; `opacity` 1 hides what lies below."""

    x: float
    y: float
    width: float
    height: float
    paint: Paint
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Polyline:
    """A line through points; `dash` is drawn and skipped lengths in turn, empty for a solid line."""

    points: tuple[Point, ...]
    paint: Paint
    width: float
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Strip:
    """The area between two lines that have the same number of points."""

    upper: tuple[Point, ...]
    lower: tuple[Point, ...]
    paint: Paint
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Hatch:
    """Many short straight lines of one width: the texture of a filled area."""

    segments: tuple[tuple[Point, Point], ...]
    paint: Paint
    width: float


@dataclass(frozen=True, slots=True)
class Marker:
    """A filled sign of a form; `radius` is half of its height."""

    x: float
    y: float
    radius: float
    form: Form
    paint: Paint


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; `x` is where its anchor stands, `y` the top of its box, `size` that of the font."""

    x: float
    y: float
    text: str
    size: float
    paint: Paint
    anchor: Anchor
    width: float
    height: float
    strong: bool = False

    @property
    def box(self) -> Box:
        """Left, top, right and bottom."""
        left = self.x - self.width * {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[self.anchor]
        return left, self.y, left + self.width, self.y + self.height


Shape = Rect | Polyline | Strip | Hatch | Marker | Text


@dataclass(frozen=True, slots=True)
class Hit:
    """A place that can be tapped, and what is then told about it."""

    x: float
    y: float
    label: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """A chart with every place decided.

    `shapes` are drawn in their order; `plot` is the box of the data; `left_out` are texts that had no
    room, for the screen to show elsewhere; `about` tells the chart in words.
    """

    width: float
    height: float
    shapes: tuple[Shape, ...]
    hits: tuple[Hit, ...]
    plot: Box
    left_out: tuple[str, ...]
    title: str
    about: str

    @property
    def texts(self) -> tuple[Text, ...]:
        """Every text that is drawn."""
        return tuple(shape for shape in self.shapes if isinstance(shape, Text))


def outline(marker: Marker) -> tuple[Point, ...]:
    """Return the corners of a marker; each form is convex, a circle has 20 of them."""
    x, y, r = marker.x, marker.y, marker.radius
    if marker.form is Form.CIRCLE:
        turns = (2 * math.pi * i / 20 for i in range(20))
        return tuple((x + r * math.cos(turn), y + r * math.sin(turn)) for turn in turns)
    corners: dict[Form, tuple[Point, ...]] = {
        Form.SQUARE: ((-0.88, -0.88), (0.88, -0.88), (0.88, 0.88), (-0.88, 0.88)),
        Form.TRIANGLE: ((0.0, -1.1), (1.1, 0.9), (-1.1, 0.9)),
        Form.DIAMOND: ((0.0, -1.2), (1.2, 0.0), (0.0, 1.2), (-1.2, 0.0)),
        Form.UPRIGHT: ((-0.22, -1.0), (0.22, -1.0), (0.22, 1.0), (-0.22, 1.0)),
    }
    return tuple((x + r * dx, y + r * dy) for dx, dy in corners[marker.form])


def signs(x: float, y: float, radius: float, form: Form, paint: Paint, is_hollow: bool) -> tuple[Marker, ...]:
    """Return a filled marker, or a hollow one: a filled one with the ground in it."""
    whole = Marker(x, y, radius, form, paint)
    return (whole, Marker(x, y, radius * _HOLLOW, form, Ink.GROUND)) if is_hollow else (whole,)


def dashes(line: Polyline) -> tuple[tuple[Point, ...], ...]:
    """Return the drawn pieces of a line, each as its points; a solid line is one piece.

    A piece runs around corners, so that a step keeps its corner where the dash covers it.
    """
    if not line.dash or sum(line.dash) <= 0:
        return (line.points,) if len(line.points) > 1 else ()
    pieces: list[tuple[Point, ...]] = []
    piece: list[Point] = [line.points[0]]
    turn, left = 0, line.dash[0]
    for start, end in pairwise(line.points):
        length, done = math.dist(start, end), 0.0
        while length - done > left:
            done += left
            share = done / length
            at = (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
            if turn % 2 == 0:
                pieces.append((*piece, at))
            turn += 1
            piece, left = [at], line.dash[turn % len(line.dash)]
        left -= length - done
        piece.append(end)
    if turn % 2 == 0 and len(piece) > 1:
        pieces.append(tuple(piece))
    return tuple(pieces)


def is_meeting(one: Box, other: Box) -> bool:
    """Whether two boxes share more than an edge."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
