"""How a picture lies in its room on the screen: whole or closer, what a touch on it means, where labels have room.

Positions on a picture are (x, y) in its pixels, from the top left, y down; a pixel's own place is its middle. Positions
in the room are in px from its bottom left, y up, as Kivy counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

Point = tuple[float, float]
Rect = tuple[float, float, float, float]
"""Left, bottom, right, top in the room."""

STEP = 2.0
MOST_ZOOM = 16.0
PAN_SHARE = 0.6


@dataclass(frozen=True, slots=True)
class Sight:
    """A picture of `picture` pixels in a room of `room` px, `zoom` times larger than whole, around `centre`."""

    room: Point
    picture: Point
    zoom: float = 1.0
    centre: Point = (0.0, 0.0)

    @property
    def scale(self) -> float:
        """Return how many px of the room one pixel of the picture takes."""
        return min(self.room[0] / self.picture[0], self.room[1] / self.picture[1]) * self.zoom

    @property
    def is_whole(self) -> bool:
        """Whether all of the picture shows."""
        return self.zoom <= 1.0

    @property
    def can_come_closer(self) -> bool:
        """Whether it can be shown larger still."""
        return self.zoom * STEP <= MOST_ZOOM

    def to_room(self, at: Point) -> Point:
        """Return where a position on the picture lies in the room."""
        x, y = self._middle()
        return (
            self.room[0] / 2 + (at[0] + 0.5 - x) * self.scale,
            self.room[1] / 2 - (at[1] + 0.5 - y) * self.scale,
        )

    def to_picture(self, at: Point) -> Point:
        """Return the position on the picture that lies at a place of the room, at most at its edge."""
        x, y = self._middle()
        across = x + (at[0] - self.room[0] / 2) / self.scale
        down = y - (at[1] - self.room[1] / 2) / self.scale
        return (
            min(max(across, 0.0), self.picture[0]) - 0.5,
            min(max(down, 0.0), self.picture[1]) - 0.5,
        )

    def frame(self) -> Rect:
        """Return the rectangle of the room that the whole picture takes, beyond the room where it is larger."""
        left, top = self.to_room((-0.5, -0.5))
        right, bottom = self.to_room((self.picture[0] - 0.5, self.picture[1] - 0.5))
        return left, bottom, right, top

    def closer(self, at: Point | None = None) -> Sight:
        """Return it one step larger, around a position on the picture where one is given."""
        if not self.can_come_closer:
            return self
        x, y = self._middle()
        return replace(self, zoom=self.zoom * STEP, centre=(at[0] + 0.5, at[1] + 0.5) if at else (x, y))._kept()

    def whole(self) -> Sight:
        """Return it with all of the picture in sight."""
        return replace(self, zoom=1.0)._kept()

    def panned(self, across: float, down: float) -> Sight:
        """Return it moved by shares of the room: to the right and down for positive ones."""
        x, y = self._middle()
        wide, high = self.room[0] / self.scale, self.room[1] / self.scale
        return replace(self, centre=(x + across * wide, y + down * high))._kept()

    def can_pan(self, across: float, down: float) -> bool:
        """Whether moving that way shows something else."""
        before, after = self._middle(), self.panned(across, down)._middle()
        return math.dist(before, after) * self.scale > 1.0

    def _middle(self) -> Point:
        """Return which place of the picture, counted from its corner, lies in the middle of the room."""
        found = []
        for room, size, centre in zip(self.room, self.picture, self.centre, strict=True):
            half = room / self.scale / 2
            found.append(size / 2 if half * 2 >= size else min(max(centre, half), size - half))
        return found[0], found[1]

    def _kept(self) -> Sight:
        return replace(self, centre=self._middle())


def whole(room: Point, picture: Point) -> Sight:
    """Return a picture as it is first shown: all of it."""
    return Sight(room, picture).whole()


# ---- what a touch means -----------------------------------------------------------------------------


def is_inside(outline: Sequence[Point], at: Point) -> bool:
    """Whether a position lies inside a closed outline."""
    inside = False
    for (x0, y0), (x1, y1) in zip(outline, [*outline[1:], *outline[:1]], strict=True):
        if (y0 > at[1]) != (y1 > at[1]) and at[0] < x0 + (at[1] - y0) * (x1 - x0) / (y1 - y0):
            inside = not inside
    return inside


def away(outline: Sequence[Point], at: Point) -> float:
    """Return how far a position is from the points of an outline; 0 inside it."""
    if len(outline) > 2 and is_inside(outline, at):
        return 0.0
    return min((math.dist(point, at) for point in outline), default=math.inf)


def nearest(outlines: Sequence[Sequence[Point]], at: Point, reach: float) -> int | None:
    """Return which outline a position means: the one it lies in, else the nearest within `reach`; None for none."""
    far = [away(outline, at) for outline in outlines]
    best = min(range(len(far)), key=far.__getitem__, default=None)
    return best if best is not None and far[best] <= reach else None


def nearest_end(midlines: Sequence[Sequence[Point]], at: Point, reach: float) -> tuple[int, int] | None:
    """Return which midline's end (0 the first, 1 the last) a position means; None where none is within `reach`."""
    ends = [(math.dist(line[-end], at), n, end) for n, line in enumerate(midlines) if len(line) > 1 for end in (0, 1)]
    far, n, end = min(ends, default=(math.inf, 0, 0))
    return (n, end) if far <= reach else None


def covered(outlines: Sequence[Sequence[Point]], first: Point, second: Point, reach: float) -> int | None:
    """Return the outline that a body between two taps would lie on, at least with two of both ends and the middle."""
    middle = ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2)
    hits = [sum(away(outline, at) <= reach for at in (first, middle, second)) for outline in outlines]
    best = max(range(len(hits)), key=hits.__getitem__, default=None)
    return best if best is not None and hits[best] >= 2 else None


# ---- where labels have room -------------------------------------------------------------------------


def bounds(points: Iterable[Point]) -> Rect:
    """Return the rectangle around points."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def overlaps(one: Rect, other: Rect) -> bool:
    """Whether two rectangles share room."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def widened(rect: Rect, by: float) -> Rect:
    """Return a rectangle with so much more on each side."""
    return rect[0] - by, rect[1] - by, rect[2] + by, rect[3] + by


def place_label(body: Rect, size: Point, room: Point, taken: Sequence[Rect], gap: float) -> Rect | None:
    """Return where a label stands beside a body, inside the room and clear of `taken`; None where nowhere is."""
    wide, high = size
    middle_x, middle_y = (body[0] + body[2]) / 2, (body[1] + body[3]) / 2
    corners = (
        (body[2] + gap, middle_y - high / 2), (body[0] - gap - wide, middle_y - high / 2),
        (middle_x - wide / 2, body[3] + gap), (middle_x - wide / 2, body[1] - gap - high),
        (body[2] + gap, body[3] + gap), (body[2] + gap, body[1] - gap - high),
        (body[0] - gap - wide, body[3] + gap), (body[0] - gap - wide, body[1] - gap - high),
    )  # fmt: skip
    for x, y in corners:
        found = (x, y, x + wide, y + high)
        is_in = x >= 0 and y >= 0 and found[2] <= room[0] and found[3] <= room[1]
        if is_in and not any(overlaps(found, other) for other in taken):
            return found
    return None


__all__ = [
    "PAN_SHARE",
    "Point",
    "Rect",
    "Sight",
    "bounds",
    "covered",
    "is_inside",
    "nearest",
    "nearest_end",
    "overlaps",
    "place_label",
    "whole",
    "widened",
]
