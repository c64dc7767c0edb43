"""Touching animals told apart: the best cover of a blob by animals, and the shape of each of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from boxside.core.measure.arrays import Bools, Floats
from boxside.core.measure.cover import Cut, Sight, best_cover, board_of, border_between, parted, sight_of
from boxside.core.measure.likeness import faults, likeness
from boxside.core.measure.notches import sharpest
from boxside.core.measure.opencv import cv
from boxside.core.measure.shape import Outline, Shape, fit_shape

Fit = Callable[[Outline], Shape | None]

LEAST_LIKENESS = 0.55
CUT_OFF = 0.8
"""Length of a cut, in widths, that may go through one animal instead of between two."""
CUT_OFF_COS = 0.36
"""How nearly square to the body, as a cosine, such a cut is: one along a flank is more slanted."""
WEAK_BORDER, WEAK_LIKENESS = 0.3, 0.9
"""Animals across each other: no cut follows a border that is seen, and no piece is a whole animal."""
THINNER = 0.9
"""Width of what is left, over that looked at before, at which it is worth another look."""
CUT_CORNER_RAD = 0.15
"""How much sharper a notch may be in a part than in a whole animal: cuts leave corners."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One animal of a blob: its outline, its shape, and the cuts that freed it.

    notched : it has a sharp notch at which it could not be cut further
    whole : it looks like one whole animal
    """

    outline: Outline
    shape: Shape
    cuts: tuple[Cut, ...] = ()
    notched: bool = False
    whole: bool = True

    @property
    def cut_px(self) -> float:
        """Length of the longest cut in px, 0 where there is none."""
        return max((float(np.hypot(*(b - a))) for a, b in self.cuts), default=0.0)

    @property
    def is_cut_off(self) -> bool:
        """Whether a cut goes through the body: it is as long as that is wide, and ends it bluntly."""
        return any(self._ends_at(a, b) for a, b in self.cuts)

    def _ends_at(self, a: Floats, b: Floats) -> bool:
        long_px = float(np.hypot(*(b - a)))
        if long_px < CUT_OFF * self.shape.width:
            return False
        across = (b - a) / max(long_px, 1e-9)
        for tip, inner in (
            (self.shape.line[0], self.shape.stations[0]),
            (self.shape.line[-1], self.shape.stations[-1]),
        ):
            way = tip - inner
            long = max(float(np.hypot(*way)), 1e-9)
            along = float((tip - a) @ across) / long_px
            off = abs(float((tip - a)[0] * across[1] - (tip - a)[1] * across[0]))
            if 0 < along < 1 and off < 0.35 * self.shape.width and abs(float(way @ across)) < CUT_OFF_COS * long:
                return True
        return False


def _only(outline: Outline, side: Bools) -> Outline:
    """Return an outline restricted to a part of it."""
    zero = np.float32(0)
    return Outline(np.where(side, outline.soft, zero), np.where(side, outline.whole, zero), outline.solid & side)


def _arm(part: Part, at: Floats) -> tuple[Floats, Floats]:
    """Return the end of a part that is nearer to a place, and the way outwards there."""
    line = part.shape.line
    near = line if np.hypot(*(line[0] - at)) < np.hypot(*(line[-1] - at)) else line[::-1]
    inner = near[min(len(near) - 1, max(2, len(near) // 3))]
    way = near[0] - inner
    return near[0], way / max(float(np.hypot(*way)), 1e-9)


def _is_crossing(parts: list[Part]) -> bool:
    """Return whether two parts continue each other straight through a third: animals across each other."""
    for k, over in enumerate(parts):
        middle = over.shape.stations
        arms = []
        for part in (p for j, p in enumerate(parts) if j != k):
            ends = part.shape.line[[0, -1]]
            gaps = np.hypot(*(ends[:, None] - middle[None]).transpose(2, 0, 1))
            end, way = _arm(part, ends[int(np.argmin(gaps.min(axis=1)))])
            if gaps.min() < 1.2 * over.shape.width:
                arms.append((end, way))
        for i, (end, way) in enumerate(arms):
            for other, back in arms[:i]:
                gap = float(np.hypot(*(end - other)))
                if way @ back < -0.75 and gap < 2.0 * over.shape.width and (other - end) @ way > 0.5 * gap:
                    return True
    return False


def split(
    outline: Outline, width_px: float, fit: Fit = fit_shape, sight: Sight | None = None
) -> tuple[list[Part], bool]:
    """Return the animals that a blob is made of, empty where no cut explains it; and whether animals cross.

    Parameters
    ----------
    outline : the blob
    width_px : greatest width of the blob, or of the animals in it where that is known
    fit : gives the shape of a part's outline by which it is judged
    sight : the picture that borders are judged by; None knows the outline alone
    """
    seen = sight if sight is not None else sight_of(outline.soft, np.zeros_like(outline.soft), width_px, 1.0)
    parts, crossing = _covered(outline, seen, fit)
    if crossing or len(parts) < 2:
        return parts, crossing
    out: list[Part] = []
    for part in parts:
        out += [part] if part.whole else _again(part, seen, fit)
    return out, _is_crossing(out)


def _again(part: Part, sight: Sight, fit: Fit) -> list[Part]:
    """Return what a part that is no whole animal is made of: thinner ones show their notches at their own width."""
    width = ridge_width(part.outline.solid)
    thin = width < THINNER * sight.width
    more, crossing = _covered(part.outline, replace(sight, width=width), fit) if thin else ([], False)
    if crossing or sum(p.whole for p in more) < 2:
        return [part]
    return [replace(p, cuts=(*p.cuts, *_near(part.cuts, p))) for p in more]


def _near(cuts: tuple[Cut, ...], part: Part) -> tuple[Cut, ...]:
    """Return the cuts that end at a part."""
    points = np.argwhere(part.outline.solid)[:, ::-1]
    return tuple(c for c in cuts if float(np.hypot(*(points - (c[0] + c[1]) / 2).T).min()) < part.shape.width / 3)


def _covered(outline: Outline, sight: Sight, fit: Fit) -> tuple[list[Part], bool]:
    """Return the parts of the best cover, none where that is one, and whether they are rather animals that cross."""
    board = board_of(outline, sight)
    if board is None:
        return [], False
    unions, _ = best_cover(board)
    if len(unions) < 2:
        return [], False
    parts: list[Part] = []
    weakest = 1.0
    for union in unions:
        cuts = [border_between(board.of(union), board.of(other)) for other in unions if other != union]
        met = tuple(c for c in cuts if c is not None)
        weakest = min([weakest, *(parted(sight, *c) for c in met)])
        part = _part(_only(outline, board.around(union)), met, sight.width, fit)
        if part is None:
            return [], False
        parts.append(part)
    weak = weakest < WEAK_BORDER and min(board.like[u] for u in unions) < WEAK_LIKENESS
    return parts, weak or _is_crossing(parts)


def ridge_width(mask: Bools) -> float:
    """Return the usual width of what a mask is made of: the median over the ridges of its distance map."""
    inside = cv().distanceTransform(np.pad(mask, 1).astype(np.uint8), cv().DIST_L2, 5)
    ridge = (inside >= cv().dilate(inside, np.ones((3, 3), np.uint8)) - 1e-3) & (inside > 0.45 * inside.max())
    return 2 * float(np.median(inside[ridge]))


def _part(piece: Outline, cuts: tuple[Cut, ...], width: float, fit: Fit) -> Part | None:
    """Return an animal of a cover with the shape that suits it, None where it has none."""
    turn = sharpest(piece.solid, width) - CUT_CORNER_RAD
    shapes = [fit(piece), fit_shape(piece)]
    whole = next((s for s in shapes if _is_whole(s, turn)), None)
    if whole is not None:
        return Part(piece, whole, cuts)
    shape = next((s for s in shapes if s is not None), None)
    if shape is None:
        return None
    notched = faults(shape, turn) == ("notch",)
    return Part(piece, shape, cuts, notched, notched)


def _is_whole(shape: Shape | None, turn: float) -> bool:
    """Return whether a part looks like one whole animal."""
    return shape is not None and not faults(shape, turn) and likeness(shape) >= LEAST_LIKENESS
