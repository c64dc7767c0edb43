"""A clump cut at all its notches, and the pieces put together into animals again: the cover that explains it best.

One cut at a time goes astray where a fillet, a root of a leg or a third animal spoils the half that is left;
all cuts at once leave every animal as some union of pieces, and the best of all exact covers by unions that
look like animals is found by trying them (at most a few hundred).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Floats, Singles
from boxside.core.measure.edges import sample
from boxside.core.measure.likeness import likeness, most_notch_rad
from boxside.core.measure.notches import Notch, find_notches, outline_points, sharpest
from boxside.core.measure.opencv import cv
from boxside.core.measure.shape import Outline, fit_shape

MOST_CUTS, MOST_PIECES, MOST_UNIONS, MOST_TOGETHER = 10, 14, 160, 6
"""How many cuts are made, pieces kept, and unions tried, and of how many pieces those are: what a phone can do."""
SLIVER = 0.05
"""Area over the width squared below which a piece belongs to its neighbour."""
LEAST_ANIMAL = 0.35
"""Least area of an animal over the square of the usual width; animals of one clump differ in size."""
CONTACT_COST, MOST_CONTACT = 0.3, 2.0
"""Cost of a width of contact between animals, and widths from which more costs no more."""
PARTED_GAIN = 0.3
"""How much less a contact costs where it is a border for sure."""
STEP_GAIN, GAP_GAIN, DULL_GAIN, NO_BORDER = 6.0, 8.0, 18.0, -1.9
"""What the log of light, its being brighter on the border, and the lack of hue there add to the log odds of two
animals that meet at a border, and those odds where none of it is seen (fitted to rendered scenes)."""
BURNT = 0.03
"""Log of light, over the ground's, from which a place is a highlight."""
LONG_CUT, LEAST_CUT = 0.1, 0.15
"""What a width of its length takes off the worth of a cut, and the least worth of one that is tried."""
PAIR_BONUS, SHARP_BONUS, SHARP_FROM_RAD, MOST_SEAM = 0.2, 0.4, 0.9, 6.0
"""What a second notch at the end of a cut adds, and both being sharp; how long such a cut may be, in widths."""
NOTCHED = 0.65
"""How much of its likeness an animal keeps that has a sharp notch left."""
Cut = tuple[Floats, Floats]


def inside_share(mask: Bools, a: Floats, b: Floats) -> float:
    """Return the share of a straight line that lies in the mask."""
    path = a + np.linspace(0.08, 0.92, 25)[:, None] * (b - a)
    cols = np.clip(np.round(path[:, 0]).astype(int), 0, mask.shape[1] - 1)
    rows = np.clip(np.round(path[:, 1]).astype(int), 0, mask.shape[0] - 1)
    return float(mask[rows, cols].mean())


def _across(mask: Bools, border: Floats, step: float, notch: Notch, width: float) -> list[Floats]:
    """Return the nearest outline points on the far side of the mask as seen from a notch, at most two."""
    away = border - notch.at
    far = np.hypot(away[:, 0], away[:, 1])
    start = int(np.argmin(far))
    order = np.arange(len(border))
    along = np.minimum((order - start) % len(border), (start - order) % len(border)) * step
    ahead = away @ notch.inwards > 0.35 * far
    usable = (along > 1.1 * width) & ahead & (far < 2.2 * width)
    out: list[Floats] = []
    for k in np.argsort(np.where(usable, far, np.inf)):
        if not usable[k] or len(out) >= 2:
            break
        apart = all(np.hypot(*(border[k] - p)) > 0.5 * width for p in out)
        if apart and inside_share(mask, notch.at, border[k]) > 0.9:
            out.append(border[k])
    return out


def _through(mask: Bools, notch: Notch, width: float) -> list[Floats]:
    """Return where ways from a notch straight into the mask leave it: bodies along each other part there."""
    out: list[Floats] = []
    s = np.arange(0.3 * width, 4.5 * width, 0.5)
    for turn in (-0.3, 0.0, 0.3):
        c, d = np.cos(turn), np.sin(turn)
        way = np.array([c * notch.inwards[0] - d * notch.inwards[1], d * notch.inwards[0] + c * notch.inwards[1]])
        path = notch.at + s[:, None] * way
        at = np.round(path).astype(int)
        inside = ((at >= 0) & (at < np.array(mask.shape)[::-1])).all(axis=1)
        at = np.clip(at, 0, np.array(mask.shape)[::-1] - 1)
        gone = ~(mask[at[:, 1], at[:, 0]] & inside)
        if gone.any() and int(np.argmax(gone)) > 0:
            out.append(path[int(np.argmax(gone))])
    return out


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """What a clump's crop shows: the log of how light it is, and its hue, both smoothed; width and blur in px."""

    light: Singles
    hue: Singles
    width: float
    blur_px: float


def sight_of(depths: Singles, hues: Singles, width: float, blur_px: float) -> Sight:
    """Return what borders are judged by."""
    sigma = max(1.0, 0.04 * width)
    light = cv().GaussianBlur(np.log(np.clip(1 - depths, 0.03, None)), (0, 0), sigma)
    return Sight(light, cv().GaussianBlur(hues, (0, 0), sigma), width, blur_px)


def _cuts(mask: Bools, sight: Sight) -> list[Cut]:
    """Return cuts from notch to notch and from notch to far side, the likeliest first."""
    width = sight.width
    ranked: list[tuple[float, Floats, Floats]] = []
    for bonus, a, b in _lines(mask, width):
        gap = float(np.hypot(*(a - b)))
        if gap < 0.2 * width or inside_share(mask, a, b) < 0.8:
            continue
        worth = parted(sight, a, b) + bonus - LONG_CUT * gap / width
        if worth > LEAST_CUT:
            ranked.append((worth, a, b))
    ranked.sort(key=lambda r: -r[0])
    out: list[Cut] = []
    for _, a, b in ranked:
        if len(out) < MOST_CUTS and all(_apart((a, b), other, width) for other in out):
            out.append((a, b))
    return out


def _lines(mask: Bools, width: float) -> Iterator[tuple[float, Floats, Floats]]:
    """Yield (bonus, from, to) of every line along which a mask may be cut."""
    notches = find_notches(mask, width)
    step = max(1.0, width / 16)
    border = outline_points(mask, step)
    for i, a in enumerate(notches):
        for b in notches[:i]:
            if float(np.hypot(*(a.at - b.at))) < MOST_SEAM * width:
                # Two that are this sharp are no roots of legs.
                sharp = min(max(min(a.turn, b.turn) - SHARP_FROM_RAD, 0.0), 1.0)
                yield PAIR_BONUS + SHARP_BONUS * sharp, a.at, b.at
        for far in (*_across(mask, border, step, a, width), *_through(mask, a, width)):
            yield 0.0, a.at, far


def _apart(one: Cut, two: Cut, width: float) -> bool:
    """Return whether two cuts are not nearly the same."""
    (a, b), (c, d) = one, two
    gaps = [float(np.hypot(*(p - q))) for p, q in ((a, c), (b, d), (a, d), (b, c))]
    return min(max(gaps[:2]), max(gaps[2:])) > 0.25 * width


def _drawn(shape: tuple[int, ...], cut: Cut, thick: int) -> Bytes:
    """Return a mask of a cut, led a little beyond the outline at both ends."""
    a, b = cut
    over = 1.5 / max(float(np.hypot(*(b - a))), 1.0)
    ends = [tuple(int(v) for v in np.round(p * 8)) for p in (a - over * (b - a), b + over * (b - a))]
    sheet = np.zeros(shape, np.uint8)
    cv().line(sheet, ends[0], ends[1], 1, thick, cv().LINE_8, 3)
    return sheet


def _pieces(solid: Bools, cuts: list[Cut], width: float) -> Bytes:
    """Return the pieces that all cuts leave, numbered from 1; cuts belong to the piece beside them."""
    bare = solid.astype(np.uint8)
    for cut in cuts:
        bare[_drawn(solid.shape, cut, 2) > 0] = 0
    _, labels, stats, _ = cv().connectedComponentsWithStats(bare, connectivity=4)
    ranked = 1 + np.argsort(-stats[1:, 4])
    order = [int(k) for k in ranked if stats[k, 4] > SLIVER * width * width][:MOST_PIECES]
    number = np.zeros(len(stats), np.uint8)
    for new, old in enumerate(order, 1):
        number[old] = new
    out = number[labels]
    rest = solid & (out == 0)
    for _ in range(80):
        if not rest.any():
            break
        grown = cv().dilate(out, np.ones((3, 3), np.uint8))
        out[rest] = grown[rest]
        rest = solid & (out == 0)
    return np.asarray(out, np.uint8)


def _contacts(pieces: Bytes, n: int) -> Floats:
    """Return how many px of border each two pieces share, (n, n)."""
    out = np.zeros((n + 1, n + 1))
    for one, two in ((pieces[:, 1:], pieces[:, :-1]), (pieces[1:], pieces[:-1])):
        at = (one != two) & (one > 0) & (two > 0)
        np.add.at(out, (one[at], two[at]), 1.0)
    return np.asarray((out + out.T)[1:, 1:])


def _unions(contacts: Floats, areas: Floats, least: float) -> list[int]:
    """Return connected sets of pieces as bit masks, the small sets first, none of less area than an animal has."""
    n = len(areas)
    near = [sum(1 << j for j in range(n) if contacts[i, j] > 1) for i in range(n)]
    sets = {1 << i for i in range(n)}
    seen = set(sets)
    for _ in range(MOST_TOGETHER - 1):
        more = set()
        for one in sets:
            around = 0
            for i in range(n):
                if one >> i & 1:
                    around |= near[i]
            more |= {one | 1 << j for j in range(n) if around >> j & 1 and not one >> j & 1}
        sets = more - seen
        seen |= sets
        if len(seen) > 4 * MOST_UNIONS:
            break
    seen.add((1 << n) - 1)
    big = [s for s in seen if sum(areas[i] for i in range(n) if s >> i & 1) >= least]
    return sorted(big, key=lambda s: (s.bit_count(), s))[:MOST_UNIONS]


def _worth(outline: Outline, mask: Bools, width: float) -> float:
    """Return how much a union of pieces looks like one animal."""
    rows, cols = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    part = np.s_[max(rows[0] - 3, 0) : rows[-1] + 4, max(cols[0] - 3, 0) : cols[-1] + 4]
    own = mask[part]
    area = float(np.count_nonzero(own))
    hull = cv().convexHull(cv().findNonZero(own.astype(np.uint8)))
    if area < 0.5 * float(cv().contourArea(hull)):
        return 0.0
    zero = np.float32(0)
    only = Outline(np.where(own, outline.soft[part], zero), np.where(own, outline.whole[part], zero), own)
    shape = fit_shape(only, rounds=1)
    if shape is None:
        return 0.0
    like = likeness(shape)
    if like > 0 and sharpest(own, min(width, shape.width)) > most_notch_rad(shape.aspect):
        like *= NOTCHED
    return like


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """What covers are judged by: pieces (0 is none), their areas and contacts (px), how sure two animals meet there."""

    pieces: Bytes
    areas: Floats
    contacts: Floats
    parted: Floats
    like: dict[int, float]
    width: float

    def of(self, union: int) -> Bools:
        """Return the mask of a union of pieces."""
        return _chosen(self.pieces, union)

    def around(self, unions: list[int]) -> list[Bools]:
        """Return for each union where no other piece is nearer: thin tails belong to a piece, but are no part of it."""
        _, nearest = cv().distanceTransformWithLabels(
            (self.pieces == 0).astype(np.uint8), cv().DIST_L2, 3, labelType=cv().DIST_LABEL_PIXEL
        )
        owner = np.zeros(int(nearest.max()) + 1, np.uint8)
        inside = self.pieces > 0
        owner[nearest[inside]] = self.pieces[inside]
        return [_chosen(owner[nearest], union) for union in unions]


def _chosen(pieces: Bytes, union: int) -> Bools:
    """Return where the pieces of a union are; piece k is its bit k - 1."""
    bits = [False, *(bool(union >> i & 1) for i in range(int(pieces.max())))]
    return np.asarray(np.array(bits)[pieces])


def border_between(one: Bools, two: Bools) -> Cut | None:
    """Return the ends of the straight line nearest to where a mask borders on another, None where it does not."""
    near = cv().dilate(two.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    border = np.argwhere(one & near)[:, ::-1].astype(np.float64)
    return _border_ends(border) if len(border) > 1 else None


def parted(sight: Sight, a: Floats, b: Floats) -> float:
    """Return 0..1, how much a line looks like the border of two animals: another colour beyond it, or light between."""
    long = max(float(np.hypot(*(b - a))), 1e-9)
    u = (b - a) / long
    q = a + np.linspace(0.15, 0.85, 15)[:, None] * (b - a)
    normal = np.array([u[1], -u[0]])
    off = max(0.14 * sight.width, 1.2 * sight.blur_px + 1) * np.array([-2, -1.5, -1, 0, 1, 1.5, 2])
    at = q[None] + off[:, None, None] * normal
    found = []
    for picture in (sight.light, sight.hue):
        level = np.median(sample(picture, at[..., 0], at[..., 1]), axis=1)
        one, two = float(np.median(level[:3])), float(np.median(level[4:]))
        found.append((abs(one - two), float(level[3]) - max(one, two)))
    (step, gap), (_, dull) = found
    if float(np.percentile(sample(sight.light, at[3:4, :, 0], at[3:4, :, 1]), 75)) > BURNT:
        # A highlight on one animal; ground between two is no brighter than ground.
        return 0.0
    sure = STEP_GAIN * min(step, 0.6) + GAP_GAIN * min(max(gap, -0.3), 0.6)
    sure += DULL_GAIN * min(max(-dull, -0.1), 0.1) + NO_BORDER
    return float(1 / (1 + np.exp(-sure)))


def _border_ends(border: Floats) -> Cut:
    """Return the ends of the straight line that is nearest to a border."""
    centre = border.mean(axis=0)
    x, y = (border - centre).T
    angle = 0.5 * np.arctan2(2 * (x @ y), x @ x - y @ y)
    u = np.array([np.cos(angle), np.sin(angle)])
    along = (border - centre) @ u
    return centre + along.min() * u, centre + along.max() * u


def board_of(outline: Outline, sight: Sight) -> Board | None:
    """Return a clump's pieces with all that covers are judged by, None where it has no notch to be cut at."""
    width = sight.width
    pieces = _pieces(outline.solid, _cuts(outline.solid, sight), width)
    n = int(pieces.max())
    if n < 2:
        return None
    areas = np.bincount(pieces.ravel(), minlength=n + 1)[1:].astype(np.float64)
    contacts = _contacts(pieces, n)
    sure = np.zeros((n, n))
    for i in range(n):
        for j in range(i):
            border = border_between(pieces == i + 1, pieces == j + 1) if contacts[i, j] > 1 else None
            if border is not None:
                sure[i, j] = sure[j, i] = parted(sight, *border)
    unions = _unions(contacts, areas, LEAST_ANIMAL * width * width)
    like = {union: _worth(outline, _chosen(pieces, union), width) for union in unions}
    return Board(pieces, areas, contacts, sure, like, width)


def best_cover(board: Board) -> tuple[list[int], float]:
    """Return the exact cover of all pieces by unions that is worth most, and what it is worth."""
    n = len(board.areas)
    total = float(board.areas.sum())
    apart = np.minimum(board.contacts / board.width, MOST_CONTACT) * (CONTACT_COST - PARTED_GAIN * board.parted)
    value = {}
    for union, like in board.like.items():
        own = [i for i in range(n) if union >> i & 1]
        kept = float(apart[np.ix_(own, own)].sum()) / 2
        value[union] = float(board.areas[own].sum()) / total * like + kept
    known: dict[int, tuple[float, list[int]]] = {0: (0.0, [])}

    def best(left: int) -> tuple[float, list[int]]:
        if left not in known:
            lowest = left & -left
            found = (-99.0, list[int]())
            for union, worth in value.items():
                if union & lowest and not union & ~left:
                    rest, others = best(left & ~union)
                    if rest + worth > found[0]:
                        found = (rest + worth, [union, *others])
            known[left] = found
        return known[left]

    worth, taken = best((1 << n) - 1)
    return taken, worth
