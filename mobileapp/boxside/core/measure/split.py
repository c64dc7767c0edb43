"""Touching animals told apart: cuts between notches, judged by how much the parts look like animals."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Floats
from boxside.core.measure.likeness import faults, likeness
from boxside.core.measure.notches import Notch, find_notches, outline_points, sharpest
from boxside.core.measure.opencv import cv
from boxside.core.measure.shape import Outline, Shape, fit_shape

Fit = Callable[[Outline], Shape | None]

MOST_PARTS = 5
MOST_TRIALS = 10
LEAST_SHARE = 0.12
LEAST_LIKENESS = 0.55
GOOD_ENOUGH = 0.93
FAR_PENALTY = 0.12
"""How much worse a cut is that leads from a notch to no other notch."""
CUT_OFF = 0.8
"""Length of a cut, in widths, that may go through one animal instead of between two."""
CUT_OFF_COS = 0.36
"""How nearly square to the body, as a cosine, such a cut is: one along a flank is more slanted."""
CUT_CORNER_RAD = 0.15
"""How much sharper a notch may be in a part than in a whole animal: cuts leave corners."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One animal of a blob: its outline, its shape, the length in px of the cut that made it, and where that is.

    notched : it has a sharp notch at which it could not be cut further
    """

    outline: Outline
    shape: Shape
    cut_px: float
    cut: tuple[Floats, Floats] | None = None
    notched: bool = False

    @property
    def is_cut_off(self) -> bool:
        """Whether the cut goes through a body: it is as long as that is wide, and ends it bluntly."""
        if self.cut is None or self.cut_px < CUT_OFF * self.shape.width:
            return False
        a, b = self.cut
        across = (b - a) / max(self.cut_px, 1e-9)
        for tip, inner in (
            (self.shape.line[0], self.shape.stations[0]),
            (self.shape.line[-1], self.shape.stations[-1]),
        ):
            way = tip - inner
            long = max(float(np.hypot(*way)), 1e-9)
            along = float((tip - a) @ across) / self.cut_px
            off = abs(float((tip - a)[0] * across[1] - (tip - a)[1] * across[0]))
            if 0 < along < 1 and off < 0.35 * self.shape.width and abs(float(way @ across)) < CUT_OFF_COS * long:
                return True
        return False


def _across(mask: Bools, notch: Notch, width: float) -> list[Floats]:
    """Return the nearest outline points on the far side of the mask as seen from a notch, at most three."""
    step = max(1.0, width / 16)
    border = outline_points(mask, step)
    away = border - notch.at
    far = np.hypot(away[:, 0], away[:, 1])
    start = int(np.argmin(far))
    order = np.arange(len(border))
    along = np.minimum((order - start) % len(border), (start - order) % len(border)) * step
    ahead = away @ notch.inwards > 0.35 * far
    usable = (along > 1.1 * width) & ahead & (far < 2.2 * width)
    out: list[Floats] = []
    for k in np.argsort(np.where(usable, far, np.inf)):
        if not usable[k] or len(out) >= 3:
            break
        apart = all(np.hypot(*(border[k] - p)) > 0.5 * width for p in out)
        if apart and _inside_share(mask, notch.at, border[k]) > 0.9:
            out.append(border[k])
    return out


def _cuts(mask: Bools, notches: list[Notch], width: float) -> list[tuple[Floats, Floats, float]]:
    """Return cuts from notch to notch and from notch to far side, with their penalty, short ones first."""
    pairs = []
    for i, a in enumerate(notches):
        for b in notches[:i]:
            gap = float(np.hypot(*(a.at - b.at)))
            if gap < 0.4 * width or not _inside_share(mask, a.at, b.at) > 0.8:
                continue
            # A cut from notch to notch explains two corners; a long one only parts bodies side by side.
            pairs.append((gap * (0.6 if gap < 1.6 * width else 0.8), a.at, b.at, 0.0))
    for a in notches:
        for far in _across(mask, a, width):
            pairs.append((float(np.hypot(*(a.at - far))) * 1.3, a.at, far, FAR_PENALTY))
    pairs.sort(key=lambda p: p[0])
    return [pair[1:] for pair in pairs]


def _inside_share(mask: Bools, a: Floats, b: Floats) -> float:
    """Return the share of a straight line that lies in the mask."""
    path = a + np.linspace(0.08, 0.92, 25)[:, None] * (b - a)
    cols = np.clip(np.round(path[:, 0]).astype(int), 0, mask.shape[1] - 1)
    rows = np.clip(np.round(path[:, 1]).astype(int), 0, mask.shape[0] - 1)
    return float(mask[rows, cols].mean())


def _divide(outline: Outline, a: Floats, b: Floats) -> list[Outline]:
    """Return the two largest parts of an outline cut along a-b, its pixels given to the nearer part."""
    solid = outline.solid.astype(np.uint8)
    over = 1.5 / max(float(np.hypot(*(b - a))), 1.0)
    start, stop = a - over * (b - a), b + over * (b - a)
    cut = solid.copy()
    ends = [tuple(int(v) for v in np.round(p * 8)) for p in (start, stop)]
    cv().line(cut, ends[0], ends[1], 0, 2, cv().LINE_8, 3)
    _, labels, stats, _ = cv().connectedComponentsWithStats(cut, connectivity=4)
    order = 1 + np.argsort(-stats[1:, 4])
    if len(order) < 2 or stats[order[1], 4] < LEAST_SHARE * solid.sum():
        return []
    gaps = [cv().distanceTransform((labels != k).astype(np.uint8), cv().DIST_L2, 3) for k in order[:2]]
    nearer = gaps[0] <= gaps[1]
    return [_only(outline, nearer), _only(outline, ~nearer)]


def _only(outline: Outline, side: Bools) -> Outline:
    """Return an outline restricted to one side of a cut."""
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


def split(outline: Outline, width_px: float, fit: Fit = fit_shape) -> tuple[list[Part], bool]:
    """Return the animals that a blob is made of, empty where no cut explains it; and whether animals cross.

    Parameters
    ----------
    outline : the blob
    width_px : greatest width of the blob, or of the animals in it where that is known
    fit : gives the shape of a part's outline by which it is judged
    """
    parts = _best(outline, width_px, MOST_PARTS, fit)
    return ([], True) if _is_crossing(parts) else (parts, False)


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """One way to cut: how good it is, the two pieces, their shapes, the cut's length and ends."""

    score: float
    pieces: list[Outline]
    shapes: list[Shape | None]
    gap: float
    ends: tuple[Floats, Floats]


def _tried(outline: Outline, width: float, most: int) -> _Cut | None:
    """Return the best cut of an outline, None where no cut gives two pieces."""
    best: _Cut | None = None
    notches = find_notches(outline.solid, width)
    for a, b, penalty in _cuts(outline.solid, notches, width)[:MOST_TRIALS]:
        pieces = _divide(outline, a, b)
        if len(pieces) < 2:
            continue
        shapes = [fit_shape(p, rounds=1) for p in pieces]
        gap = float(np.hypot(*(a - b)))
        score = _worth(shapes, gap, most) - penalty
        if best is None or score > best.score:
            best = _Cut(score, pieces, shapes, gap, (a, b))
        if score > GOOD_ENOUGH:
            break
    return best


def _best(outline: Outline, width: float, most: int, fit: Fit) -> list[Part]:
    """Return the parts of the best cut, each cut further where it does not look like one animal."""
    best = _tried(outline, width, most)
    if best is None or best.score <= 0.0:
        return []
    out: list[Part] = []
    for piece in best.pieces:
        turn = sharpest(piece.solid, width) - CUT_CORNER_RAD
        shape = next((s for s in (f(piece) for f in (fit, fit_shape)) if _is_whole(s, turn)), None)
        if shape is not None:
            out.append(Part(piece, shape, best.gap, best.ends))
            continue
        more = _best(piece, width, most - 1, fit) if most > 2 else []
        if not more:
            shape = fit(piece)
            if shape is None or faults(shape, turn) != ("notch",):
                return []
            more = [Part(piece, shape, best.gap, best.ends, notched=True)]
        out += more
    return out


def _is_whole(shape: Shape | None, turn: float) -> bool:
    """Return whether a part looks like one whole animal."""
    return shape is not None and not faults(shape, turn) and likeness(shape) >= LEAST_LIKENESS


def _worth(shapes: list[Shape | None], gap: float, most: int) -> float:
    """Return how good a cut is: the lesser likeness of its parts, less for long cuts and unlike parts."""
    each = [likeness(s) for s in shapes]
    known = [s for s in shapes if s is not None]
    if len(known) < 2:
        return 0.0
    thin = min(s.width for s in known)
    unlike = max(s.width for s in known) / max(thin, 1e-9)
    penalty = 0.12 * max(0.0, gap / thin - 1.2) ** 0.5 + 0.25 * max(0.0, unlike - 2.2)
    floor = min(each) if most <= 2 else min(min(each) + 0.15, max(each) * 0.7 + min(each) * 0.3)
    return float(floor - penalty)
