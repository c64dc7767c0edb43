"""What is drawn over a photo: outlines, midlines, ends, taps and labels, each a bright line in a dark one.

No mark is told apart by colour: an outline is whole where it was measured, in dashes where that is doubtful, in dots
where there is no length; a body that is left out has a cross and no outline.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Line, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp, sp

from boxside.core.values.photo_view import BodyRow
from boxside.ui.sight import Point, Rect, Sight, bounds, overlaps, place_label, widened
from boxside.ui.widgets.line_drawing import dashed

FONT = "BoxsideStrong"
TEXT_SP = 16.0
EDGE_DP, CORE_DP, STRONG_DP = 2.2, 0.9, 1.8
DASHES_DP = {"measured": 0.0, "doubtful": 7.0, "refused": 2.5}
MOST_POINTS = 90
CROSS_DP, END_DP, TAP_DP = 9.0, 7.0, 11.0
PAD_DP, GAP_DP, CLEAR_DP = 3.0, 5.0, 2.5


@dataclass(frozen=True)
class Ink:
    """The two colours of marks, as red, green, blue, opacity."""

    core: Sequence[float]
    edge: Sequence[float]


def label_texts(row: BodyRow) -> tuple[str, str]:
    """Return what stands beside a body: number with length and error, or how many it may be; and the number alone."""
    body = row.body
    if body.length_mm is not None:
        return f"{row.number}: {row.size.removesuffix(' mm')}", str(row.number)
    many = f"{body.n_low}–{body.n_high}?" if body.n_low != body.n_high else "?"
    return f"{row.number}: {many}", str(row.number)


def spread(points: Sequence[Point], sight: Sight) -> list[Point]:
    """Return points of a picture in the room, no more of them than the eye can use."""
    step = max(1, len(points) // MOST_POINTS)
    kept = [*points[:-1:step], points[-1]] if points else []
    return [sight.to_room(at) for at in kept]


def stroke(points: Sequence[Point], ink: Ink, core: float = CORE_DP, is_closed: bool = False) -> Iterator[Any]:
    """Yield what draws a line: the dark one, then the bright one in it."""
    flat = [value for point in points for value in point]
    for colour, width in ((ink.edge, core + EDGE_DP - CORE_DP), (ink.core, core)):
        yield Color(*colour)
        yield Line(points=flat, width=max(1.0, dp(width)), close=is_closed, joint="round", cap="round")


def body_marks(row: BodyRow, sight: Sight, ink: Ink, is_out: bool, is_told: bool) -> Iterator[Any]:
    """Yield what draws a body: outline and midline, or the cross of one that is left out."""
    line = spread(row.midline_px, sight)
    border = spread(row.outline_px, sight) or line
    if is_out:
        yield from cross(centre_of(border), ink)
        return
    core = STRONG_DP if is_told else CORE_DP
    dash = DASHES_DP[str(row.body.status)]
    if dash and len(border) > 1:
        for piece in dashed([*border, border[0]], dp(dash)):
            yield from stroke(piece, ink, core)
    elif len(border) > 1:
        yield from stroke(border, ink, core, is_closed=True)
    if len(line) > 1:
        yield from stroke(line, ink, core)


def cross(at: Point, ink: Ink) -> Iterator[Any]:
    """Yield what draws a cross."""
    arm = dp(CROSS_DP)
    for turn in (1, -1):
        yield from stroke([(at[0] - arm, at[1] - arm * turn), (at[0] + arm, at[1] + arm * turn)], ink, STRONG_DP)


def ring(at: Point, ink: Ink, radius_dp: float = END_DP, is_full: bool = False) -> Iterator[Any]:
    """Yield what draws a ring that leaves its middle free, or a thick one."""
    core = 3.0 if is_full else CORE_DP
    for colour, width in ((ink.edge, core + EDGE_DP - CORE_DP), (ink.core, core)):
        yield Color(*colour)
        yield Line(circle=(at[0], at[1], dp(radius_dp)), width=max(1.0, dp(width)))


def target(at: Point, ink: Ink) -> Iterator[Any]:
    """Yield what draws a tapped point: a ring with four strokes, its middle free."""
    yield from ring(at, ink, TAP_DP)
    near, far = dp(TAP_DP * 0.45), dp(TAP_DP * 1.7)
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        start, end = (at[0] + dx * near, at[1] + dy * near), (at[0] + dx * far, at[1] + dy * far)
        yield from stroke([start, end], ink)


def centre_of(points: Sequence[Point]) -> Point:
    """Return the middle of the rectangle around points."""
    left, bottom, right, top = bounds(points)
    return (left + right) / 2, (bottom + top) / 2


# ---- labels -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Placed:
    """A label with its place in the room."""

    text: str
    at: Rect


def placed_labels(rows: Iterable[BodyRow], sight: Sight, out: frozenset[str], told: str = "") -> list[Placed]:
    """Return the labels that have room: as many as fit without touching, the told body's first.

    A body beside which its length has no room has its number, and nothing where that has none: closer, there is.
    """
    boxes = [(row, bounds(spread(row.outline_px or row.midline_px, sight))) for row in rows]
    boxes = [(row, box) for row, box in boxes if overlaps(box, (0.0, 0.0, *sight.room))]
    shown = sorted((one for one in boxes if one[0].id not in out), key=lambda one: one[0].id != told)
    done: list[Placed] = []
    for which in (0, 1):
        for row, box in shown:
            text = label_texts(row)[which]
            if which and any(label.text == label_texts(row)[0] for label in done):
                continue
            others = [*(label.at for label in done), *(other for one, other in boxes if one is not row)]
            taken = [widened(other, dp(CLEAR_DP)) for other in others]
            found = place_label(box, label_size(text), sight.room, taken, dp(GAP_DP))
            if found is not None:
                done.append(Placed(text, found))
    return done


def label_size(text: str) -> Point:
    """Return how much room a label takes, in px."""
    texture = text_texture(text, sp(TEXT_SP))
    return texture.width + 2 * dp(PAD_DP), float(texture.height)


def label_marks(label: Placed, ink: Ink) -> Iterator[Any]:
    """Yield what draws a label: bright on dark, over whatever the photo shows there."""
    texture = text_texture(label.text, sp(TEXT_SP))
    left, bottom, right, top = label.at
    yield Color(*ink.edge)
    yield Rectangle(pos=(left, bottom), size=(right - left, top - bottom))
    yield Color(*ink.core)
    yield Rectangle(texture=texture, pos=(round(left + dp(PAD_DP)), round(bottom)), size=texture.size)


@lru_cache(maxsize=512)
def text_texture(text: str, size: float) -> Texture:
    """Return a text as a picture in white."""
    label = CoreLabel(text=text, font_name=FONT, font_size=size)
    label.refresh()
    return label.texture


__all__ = [
    "Ink",
    "Placed",
    "body_marks",
    "cross",
    "label_marks",
    "label_texts",
    "placed_labels",
    "ring",
    "spread",
    "stroke",
    "target",
]
