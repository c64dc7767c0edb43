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
WEAK_BORDER, NO_BORDER, SURE_BORDER, WEAK_LIKENESS, PLAIN_LIKENESS = 0.3, 0.4, 0.7, 0.9, 0.95
"""Animals across each other: no cut follows a border that is seen, and no piece is a whole animal."""
THINNER = 0.9
"""Width of what is left, over that looked at before, at which it is worth another look."""
CUT_CORNER_RAD = 0.15
"""How much sharper a notch may be in a part than in a whole animal: cuts leave corners."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One animal of a blob: its outline, its shape, and the cuts that freed it.

    notched : it has a sharp notch at which it could not be cut further
    whole : it looks like one whole animal; like : how much so, 0..1, to the cover that it is of
    border : how surely two animals meet at the least sure of its cuts, 0..1
    """

    outline: Outline
    shape: Shape
    cuts: tuple[Cut, ...] = ()
    notched: bool = False
    whole: bool = True
    like: float = 1.0
    border: float = 1.0

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


def _across(parts: list[Part]) -> list[tuple[int, ...]]:
    """Return (over, arm, arm) where two parts continue each other straight through a third: animals that cross."""
    out: list[tuple[int, ...]] = []
    for k, over in enumerate(parts):
        middle = over.shape.stations
        arms = []
        for j, part in ((j, p) for j, p in enumerate(parts) if j != k):
            ends = part.shape.line[[0, -1]]
            gaps = np.hypot(*(ends[:, None] - middle[None]).transpose(2, 0, 1))
            end, way = _arm(part, ends[int(np.argmin(gaps.min(axis=1)))])
            if gaps.min() < 1.2 * over.shape.width:
                arms.append((j, end, way))
        for i, (one, end, way) in enumerate(arms):
            for two, other, back in arms[:i]:
                gap = float(np.hypot(*(end - other)))
                if way @ back < -0.75 and gap < 2.0 * over.shape.width and (other - end) @ way > 0.5 * gap:
                    out.append((k, one, two))
    return out


def _borders(parts: list[Part], sight: Sight) -> list[tuple[int, int, float]]:
    """Return (one, other, how surely two animals meet there) for each border between parts."""
    out = []
    for i, one in enumerate(parts):
        for j, two in enumerate(parts[:i]):
            border = border_between(one.outline.solid, two.outline.solid)
            if border is not None:
                out.append((i, j, parted(sight, *border)))
    return out


@dataclass(frozen=True, slots=True)
class Lump:
    """Parts (indices) that lie across each other or have no sure border between them, and how many animals they are."""

    parts: tuple[int, ...]
    animals: int


def _lumps(parts: list[Part], sight: Sight) -> list[Lump]:
    """Return which parts are no sure animals.

    They lie across each other, or have no border to be seen between them; what no sure border divides from such
    ones, or is no whole animal beside them, is as unsure. Of three or more without any border between them one
    is an arm of another, that goes on beneath a third.
    """
    borders = _borders(parts, sight)
    weak = [(i, j) for i, j, sure in borders if sure < WEAK_BORDER and _least_like(parts, i, j) < WEAK_LIKENESS]
    ties = _across(parts) + _meeting(parts, borders) + weak
    ties += [(i, j) for i, j, sure in borders if sure < SURE_BORDER and not (parts[i].whole and parts[j].whole)]
    for _ in parts:
        lumped = {k for tie in ties for k in tie}
        ties += [
            (i, j)
            for i, j, sure in borders
            if (i in lumped) != (j in lumped) and (sure < SURE_BORDER or not (parts[i].whole and parts[j].whole))
        ]
    one = _joined(_across(parts) + _meeting(parts, borders) + [(i, j) for i, j, sure in borders if sure < NO_BORDER])
    out = []
    for lump in _joined(ties):
        inner = [len(set(group) & set(lump)) for group in one]
        alone = len(lump) - sum(inner)
        animals = alone + sum(max(min(m, 2), m - 1) for m in inner)
        out.append(Lump(tuple(lump), max(2, animals)))
    return out


def _meeting(parts: list[Part], borders: list[tuple[int, int, float]]) -> list[tuple[int, ...]]:
    """Return trios that all border on each other, of which not all are plainly animals: arms that meet in one place."""
    near = {frozenset((i, j)) for i, j, _ in borders}
    ends = sorted({k for pair in near for k in pair})
    return [
        (i, j, k)
        for i in ends
        for j in ends
        for k in ends
        if i < j < k
        and {frozenset((i, j)), frozenset((j, k)), frozenset((i, k))} <= near
        and min(parts[q].like for q in (i, j, k)) < PLAIN_LIKENESS
    ]


def _least_like(parts: list[Part], i: int, j: int) -> float:
    return min(parts[i].like, parts[j].like)


def _joined(ties: list[tuple[int, ...]]) -> list[list[int]]:
    """Return sets of parts that hang together by ties."""
    sets: list[set[int]] = []
    for tie in ties:
        hit = [s for s in sets if s & set(tie)]
        sets = [s for s in sets if s not in hit] + [set(tie).union(*hit)]
    return [sorted(s) for s in sets]


def split(
    outline: Outline, width_px: float, fit: Fit = fit_shape, sight: Sight | None = None
) -> tuple[list[Part], list[Lump]]:
    """Return the animals that a blob is made of, empty where no cut explains it, and which of them are no sure ones.

    Parameters
    ----------
    outline : the blob
    width_px : greatest width of the blob, or of the animals in it where that is known
    fit : gives the shape of a part's outline by which it is judged
    sight : the picture that borders are judged by; None knows the outline alone
    """
    seen = sight if sight is not None else sight_of(outline.soft, np.zeros_like(outline.soft), width_px, 1.0)
    parts: list[Part] = []
    for part in _covered(outline, seen, fit):
        parts += [part] if part.whole else _again(part, seen, fit)
    return parts, _lumps(parts, seen)


def _again(part: Part, sight: Sight, fit: Fit) -> list[Part]:
    """Return what a part that is no whole animal is made of: thinner ones show their notches at their own width."""
    width = ridge_width(part.outline.solid)
    thin = width < THINNER * sight.width
    more = _covered(part.outline, replace(sight, width=width), fit) if thin else []
    if sum(p.whole for p in more) < 2:
        return [part]
    return [replace(p, cuts=(*p.cuts, *_near(part.cuts, p))) for p in more]


def _near(cuts: tuple[Cut, ...], part: Part) -> tuple[Cut, ...]:
    """Return the cuts that end at a part."""
    points = np.argwhere(part.outline.solid)[:, ::-1]
    return tuple(c for c in cuts if float(np.hypot(*(points - (c[0] + c[1]) / 2).T).min()) < part.shape.width / 3)


def _covered(outline: Outline, sight: Sight, fit: Fit) -> list[Part]:
    """Return the parts of the best cover, none where that is one."""
    board = board_of(outline, sight)
    if board is None:
        return []
    unions, _ = best_cover(board)
    if len(unions) < 2:
        return []
    parts: list[Part] = []
    masks = [board.of(union) for union in unions]
    for k, (union, around) in enumerate(zip(unions, board.around(unions), strict=True)):
        cuts = [border_between(masks[k], other) for j, other in enumerate(masks) if j != k]
        met = tuple(c for c in cuts if c is not None)
        part = _part(_only(outline, around), met, sight.width, fit)
        if part is None:
            return []
        border = min((parted(sight, *cut) for cut in met), default=1.0)
        parts.append(replace(part, like=board.like[union], border=border))
    return parts


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
