"""One animal's shape in pixels: midline tip to tip, width along it, and how well that explains the mask."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Floats, Singles, clipped
from boxside.core.measure.discs import opened_closed, reach_of
from boxside.core.measure.edges import sample
from boxside.core.measure.midline import length_of, normals, resample, rough_midline, smooth, tangents, turning, turns
from boxside.core.measure.opencv import cv

STATIONS = 49
FERET_SHARE = 0.945
"""Length over the greatest distance across the mask below which something is wrong: roots of legs and a rim of
shadow make that distance greater by some hundredths, never a bent midline."""
LEG_SHARE = 0.22
"""What is narrower than twice this, over the half width, is no second body."""


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """What is measured of one blob, all pictures of one size.

    soft : (rows, cols) float32, 1 inside and 0 outside, 0.5 on the outline; legs removed
    whole : the same with narrow parts kept, for the tips
    solid : soft > 0.5
    """

    soft: Singles
    whole: Singles
    solid: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A measured shape, px: midline (n, 2), half widths to the left and right of its stations, length, width.

    overlap : shared area of mask and reconstruction over their joint area
    waist : narrowest inner width over the lesser of the greatest widths to both sides of it
    turn_rad : turning of the midline; kink : greatest curvature times half width
    beside : area of what lies far beside the body, over half the width squared
    reach_px : how far each tip lies beyond the last station
    shaded : one side's edge is far weaker than the other's, as that of a shadow is
    """

    line: Floats
    stations: Floats
    left: Floats
    right: Floats
    length: float
    width: float
    feret: float
    overlap: float
    waist: float
    turn_rad: float
    kink: float
    below_feret: bool
    area: float
    reach: tuple[float, float]
    beside: float = 0.0
    shaded: bool = False

    @property
    def aspect(self) -> float:
        """Length over width."""
        return self.length / max(self.width, 1e-9)


def soften(mask: Bools) -> Singles:
    """Return a mask as a soft picture whose 0.5 level is a smooth outline."""
    return np.asarray(cv().GaussianBlur(mask.astype(np.float32), (0, 0), 0.8), np.float32)


def outline_of_mask(mask: Bools) -> Outline:
    """Return a plain mask as something to measure: nothing is removed from it."""
    soft = soften(mask)
    return Outline(soft, soft, mask)


def rays(soft: Singles, points: Floats, ways: Floats, reach: float, step: float = 0.5) -> tuple[Floats, Bools]:
    """Return how far each point's way (or one's ways) leads until the picture falls below 0.5, and if it does."""
    offsets = np.arange(0, reach + step, step)
    value = sample(soft, points[:, :1] + offsets * ways[:, :1], points[:, 1:] + offsets * ways[:, 1:])
    below = value < 0.5
    at = below.argmax(axis=1)
    rows = np.arange(len(value))
    last = np.maximum(at - 1, 0)
    before = value[rows, last]
    share = (before - 0.5) / np.maximum(before - value[rows, at], 1e-6)
    far = (last + clipped(share, 0.0, 1.0)) * step
    found: Bools = below[rows, at]
    return np.asarray(np.where(found, np.where(at > 0, far, 0.0), reach), np.float64), found


def degree_of(points: Floats) -> int:
    """Return the degree of polynomial that a midline of such turning needs; roots of legs bend its ends."""
    off = len(points) // 6
    turn = turning(smooth(points, 5)[off : len(points) - off]) * len(points) / (len(points) - 2 * off)
    return 4 if turn < 0.7 else 5 if turn < 1.5 else 7 if turn < 2.8 else 9


def _centred(soft: Singles, line: Floats, width: float) -> tuple[Floats, Floats, Floats]:
    """Return stations moved into the middle between both sides, with half widths left and right.

    Stations near the tips would see the end instead of the sides: half a width is left off at both ends.
    """
    long = length_of(line)
    degree = degree_of(resample(line, STATIONS))
    share = min(0.55 * width, 0.22 * long) / long
    fine = resample(line, 8 * STATIONS)
    keep = round(share * len(fine))
    line = resample(smooth(resample(fine[keep : len(fine) - keep], STATIONS), degree), STATIONS)
    left = right = np.zeros(STATIONS)
    for _ in range(2):
        normal = normals(line)
        left, _ = rays(soft, line, normal, 1.3 * width)
        right, _ = rays(soft, line, -normal, 1.3 * width)
        shift = clipped((left - right) / 2, -0.35 * width, 0.35 * width)
        line = resample(smooth(line + shift[:, None] * normal, degree), STATIONS)
    return line, left, right


def way_out(line: Floats, width: float) -> Floats:
    """Return points 0.25 px apart from the last station outwards, along the line's last curvature."""
    step = length_of(line) / (STATIONS - 1)
    back = min(max(round(1.2 * width / step), 6), STATIONS // 2)
    part = line[-back - 1 :]
    t = tangents(part)
    angle = np.zeros(len(part))
    np.cumsum(turns(t), out=angle[1:])
    angle += np.arctan2(t[0, 1], t[0, 0])
    middle = (np.arange(len(part)) - (len(part) - 1) / 2) * step
    slope = float(middle @ angle / (middle @ middle))
    heading = float(angle.sum()) / len(part) + slope * float(middle[-1])
    # A tip seldom bends more than the body before it; noise in the slope would swing it aside.
    slope = min(max(slope, -0.6 / max(width, 1)), 0.6 / max(width, 1))
    s = np.arange(0.25, 1.6 * width + 1, 0.25)
    mid = heading + slope * (s - 0.125)
    out = np.empty((len(s), 2))
    np.cumsum(np.cos(mid), out=out[:, 0])
    np.cumsum(np.sin(mid), out=out[:, 1])
    return np.asarray(line[-1] + 0.25 * out)


def end_of(soft: Singles, line: Floats, width: float) -> Floats:
    """Return points from the last station outwards to the tip, along the line's last curvature."""
    return end_along(soft, way_out(line, width))


def end_along(soft: Singles, path: Floats) -> Floats:
    """Return points along a way, 0.25 px apart, as far as a picture stays above 0.5."""
    value = sample(soft, path[None, :, 0], path[None, :, 1])[0]
    below = value < 0.5
    if not below.any():
        return np.asarray(path[-1:])
    k = int(np.argmax(below))
    if k == 0:
        return np.asarray(path[:1])
    share = (value[k - 1] - 0.5) / max(value[k - 1] - value[k], 1e-6)
    tip = path[k - 1] + share * (path[k] - path[k - 1])
    return np.concatenate([path[:k:8], tip[None]])


def _feret(solid: Bools) -> float:
    """Return the greatest distance across the mask, outline to outline."""
    contours, _ = cv().findContours(solid.astype(np.uint8), cv().RETR_EXTERNAL, cv().CHAIN_APPROX_NONE)
    points = np.concatenate([c[:, 0] for c in contours])
    hull = cv().convexHull(points)[:, 0].astype(np.float64)
    gaps = np.hypot(*(hull[:, None] - hull[None]).transpose(2, 0, 1))
    return float(gaps.max()) + 0.5 if len(hull) > 1 else 1.0


def smooth_width(width: Floats) -> Floats:
    """Return widths along the body without segment notches: median of five, then mean of five."""
    n = len(width)
    around = np.minimum(np.maximum(np.arange(-2, n + 2), 0), n - 1)
    padded = width[around]
    middle = np.sort(np.stack([padded[k : k + n] for k in range(5)]), axis=0)[2]
    return np.convolve(middle[around], np.ones(5) / 5, "valid")


def full_width(width: Floats) -> float:
    """Return the greatest width, of a smooth profile, that both ends' three fifths reach.

    Roots of legs widen one end of the outline, hardly ever both: the end without them decides.
    """
    part = max(1, round(0.58 * len(width)))
    return float(min(width[:part].max(), width[-part:].max()))


def _waist(width: Floats) -> float:
    """Return the deepest narrowing: a width over the lesser of the greatest widths on both sides."""
    before = np.maximum.accumulate(width)
    after = np.maximum.accumulate(width[::-1])[::-1]
    return float((width / np.maximum(np.minimum(before, after), 1e-9)).min())


def strip_of(line: Floats, left: Floats, right: Floats, tips: tuple[Floats, Floats]) -> list[Floats]:
    """Return the convex pieces of a midline with half widths: quads, and round caps at the tips."""
    normal = normals(line)
    # A filled polygon takes in the half pixel around it.
    a, b = line + (left - 0.5)[:, None] * normal, line - (right - 0.5)[:, None] * normal
    # Every second station is enough to draw by, and twice as fast.
    p, q = a[::2], b[::2]
    pieces = list(np.stack([p[:-1], p[1:], q[1:], q[:-1]], axis=1))
    turn = np.arange(5) * (np.pi / 8)
    for tip, k in ((tips[0][-1], 0), (tips[1][-1], -1)):
        out = tip - line[k]
        half = [line[k] + np.sin(turn)[:, None] * out + np.cos(turn)[:, None] * (e - line[k]) for e in (a[k], b[k])]
        pieces.append(np.concatenate(half))
    return pieces


def draw_strip(pieces: list[Floats], shape: tuple[int, int]) -> Bools:
    """Return a mask of convex pieces."""
    drawn = np.zeros(shape, np.uint8)
    for piece in pieces:
        cv().fillConvexPoly(drawn, cv().convexHull(np.round(piece * 8).astype(np.int32)), 1, cv().LINE_8, 3)
    return np.asarray(drawn > 0)


def _overlap(pieces: list[Floats], solid: Bools, half: float) -> tuple[float, float]:
    """Return shared over joint area of the mask and the strip along the midline, and what lies far beside it.

    What sticks out of the strip, is narrow and does not reach far are roots of legs and rims of shadow; it does
    not count. What reaches farther than half the width hangs on by a leg; its area is given over half the width
    squared.
    """
    drawn = draw_strip(pieces, solid.shape)
    x, y, w, h = cv().boundingRect((solid | drawn).view(np.uint8))
    solid, drawn = solid[y : y + h, x : x + w], drawn[y : y + h, x : x + w]
    out = solid & ~drawn
    away = cv().distanceTransform((~drawn).view(np.uint8), cv().DIST_L2, 3)
    far = int(np.count_nonzero(away[out] > half))
    wide = np.count_nonzero(out if far else opened_closed(out, reach_of(LEG_SHARE * half), 0))
    shared = float(np.count_nonzero(solid & drawn)) / max(float(np.count_nonzero(drawn)) + wide, 1.0)
    return shared, far / max(half * half, 1.0)


def assembled(
    outline: Outline, line: Floats, sides: tuple[Floats, Floats], tips: tuple[Floats, Floats], core: Bools | None = None
) -> Shape:
    """Return a shape from its stations, half widths to both sides, and points from both ends out to the tips.

    `core` is the mask without any root of a leg, across which the greatest distance is taken.
    """
    left, right = sides
    whole = np.concatenate([tips[0][::-1], line, tips[1]])
    across = smooth_width(left + right)
    length, feret = length_of(whole), _feret(outline.solid if core is None else core)
    below = length < FERET_SHARE * feret
    t = tangents(line)
    kink = float(np.abs(turns(t)).max() / (length_of(line) / (STATIONS - 1)) * across.max() / 2)
    overlap, beside = _overlap(strip_of(line, left, right, tips), outline.solid, full_width(across) / 2)
    return Shape(
        whole, line, left, right, max(length, feret if below else 0.0), full_width(across), feret,
        overlap, _waist(across), turning(line), kink, below, float(np.count_nonzero(outline.solid)),
        (length_of(np.concatenate([line[:1], tips[0]])), length_of(np.concatenate([line[-1:], tips[1]]))),
        beside,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """A first look at a shape, px: midline tip to tip (n, 2), stations, half widths, points out to both tips, width."""

    line: Floats
    stations: Floats
    sides: tuple[Floats, Floats]
    tips: tuple[Floats, Floats]
    width: float


def start_of(outline: Outline, rounds: int = 1, core: Bools | None = None) -> Start | None:
    """Return a first look at the shape of one animal, None where there is too little of it.

    Parameters
    ----------
    outline : what is measured
    core : the mask without any root of a leg, to start from; the outline's own where that is None
    rounds : how often the midline is centred and led to the tips anew
    """
    solid = outline.solid
    if int(np.count_nonzero(solid)) < 12:
        return None
    x, y, w, h = cv().boundingRect(solid.astype(np.uint8))
    held = cv().copyMakeBorder(solid[y : y + h, x : x + w].astype(np.uint8), 1, 1, 1, 1, cv().BORDER_CONSTANT, value=0)
    width = 2 * float(cv().distanceTransform(held, cv().DIST_L2, 5).max())
    start = rough_midline(solid if core is None else core, width)
    if length_of(start) < 0.6 * width or len(start) < 4:
        return None
    whole = start
    for _ in range(max(rounds, 1)):
        line, left, right = _centred(outline.soft, whole, width)
        tips = end_of(outline.whole, line[::-1], width), end_of(outline.whole, line, width)
        whole = np.concatenate([tips[0][::-1], line, tips[1]])
    return Start(whole, line, (left, right), tips, full_width(smooth_width(left + right)))


def fit_shape(outline: Outline, rounds: int = 3, core: Bools | None = None) -> Shape | None:
    """Return the shape of one animal as its mask has it, None where there is too little of it.

    Parameters
    ----------
    outline : what is measured
    core : the mask without any root of a leg, to start from; the outline's own where that is None
    rounds : how often the midline is centred and led to the tips anew; 1 is enough to compare cuts
    """
    start = start_of(outline, rounds, core)
    return None if start is None else assembled(outline, start.stations, start.sides, start.tips, core)
