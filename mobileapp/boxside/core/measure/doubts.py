"""Whether what looks like one animal may still be two, or a part of two, or one with its shadow.

The limits were set on rendered scenes that no bar is judged by; common practice, no source.
"""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Bools, Floats, Singles
from boxside.core.measure.edges import sample
from boxside.core.measure.midline import normals
from boxside.core.measure.notches import find_notches
from boxside.core.measure.opencv import cv
from boxside.core.measure.shape import STATIONS, Outline, Shape, rays, smooth_width
from boxside.core.measure.silhouette import FREE_SHARE, trimmed
from boxside.core.measure.split import Part

NOTCH_CLOSE = 0.1
"""Half the mouth, over the half width, of bays closed before notches are looked for: a contact is no wider."""
DEEP_SHARE, PAIR_SHARE = 0.8, 0.9
"""Distance of a notch from the midline, over the half width there, below which no root of a leg makes it, alone
and as one of two."""
DEEP_RAD, PAIR_RAD = 0.9, 0.66
"""Turn of a deep notch that stands alone, and of two on opposite sides, as bodies along each other have them."""
PAIR_APART = 3.0
"""Greatest distance of such two along the body, in widths."""
END_SHARE = 0.06
"""Share of the stations at both ends whose notches are none of the sides."""
MOST_SWAY = 0.28
"""Range of the outline's own middle beside the midline, in widths."""
MOST_BULGE = 1.45
"""Greatest width of an outline over the width of the body."""
LEAST_CUT_ASPECT, MOST_CUT_KINK, MOST_CUT_TURN_RAD = 3.2, 1.1, 2.5
"""Length over width, sharpness of bending and turning at which a part is half an animal, or two that meet."""
LOOSE_OVERLAP, LOOSE_BORDER = 0.95, 0.7
"""A part that its strip does not quite explain, at a border that is not quite sure, may have too much or too little."""
DARK_SIDE, DARK_END = (1.1, 0.1), (1.2, 0.2)
"""How dark a side or an end is over the middle, and how much more so than the other one, where it is shadow:
bodies fall off in the light alike on both sides."""
RIM_SHARES = (0.45, 0.55, 0.65, 0.75)
"""Where the sides are looked at, over the half width, and the ends, in widths from the tip."""
END_SHARES = np.linspace(0.12, 0.3, 5)
FAR_END_SHARES = np.linspace(0.2, 0.55, 8)
THICK_SIGMAS, LIGHT_END, SAME_END = 8.0, 0.75, 0.9
"""Width, in sigmas of blur, from which ends are judged; how light one end is over the middle, and the other is not."""
OTHER_HUE = 0.2
"""How much the hue of an end differs from the middle's where it is no part of the animal."""
ACROSS_CUT, ACROSS_COS, ACROSS_GAP = 0.45, 0.1, 0.2
"""A cut through a body: its length and its distance from the tip, in widths, and how nearly it is square to it."""


def may_be_two(shape: Shape, outline: Outline) -> bool:
    """Return whether an outline has deep notches in its sides, as animals along each other leave them."""
    line = shape.stations
    normal = normals(line)
    half = smooth_width(shape.left + shape.right) / 2
    solid = trimmed(outline.solid, shape.width / 2, FREE_SHARE, NOTCH_CLOSE)
    deep: list[tuple[float, float, float]] = []
    for notch in find_notches(solid, shape.width):
        k = int(np.argmin(np.hypot(*(line - notch.at).T)))
        off = float((notch.at - line[k]) @ normal[k])
        if abs(off) < PAIR_SHARE * half[k] and END_SHARE < k / (STATIONS - 1) < 1 - END_SHARE:
            deep.append((notch.turn, off / half[k], k / (STATIONS - 1) * shape.aspect))
    return any(turn > DEEP_RAD and abs(off) < DEEP_SHARE for turn, off, _ in deep) or _has_pair(deep)


def _has_pair(deep: list[tuple[float, float, float]]) -> bool:
    """Return whether two notches (turn, place beside and along the midline) lie on opposite sides."""
    sharp = [(off, at) for turn, off, at in deep if turn > PAIR_RAD]
    return any(a[0] * b[0] < 0 and abs(a[1] - b[1]) < PAIR_APART for i, a in enumerate(sharp) for b in sharp[:i])


def holds_shadow(shape: Shape, depth: Singles) -> bool:
    """Return whether one side or end within the outline is darker than the middle, and the other is not so dark.

    A shadow as sharp as a body's edge, and as hueless, is taken for a part of a body that is lighter than it.
    """
    line = shape.stations
    beside = normals(line) * smooth_width(shape.left + shape.right)[:, None] / 2
    sides = []
    for way in (1, -1):
        at = np.stack([line + way * share * beside for share in RIM_SHARES])
        sides.append(float(np.median(np.median(sample(depth, at[..., 0], at[..., 1]), axis=0))))
    ends = [_end_value(shape, depth, k, END_SHARES) for k in (0, -1)]
    middle = max(float(np.median(sample(depth, line[None, :, 0], line[None, :, 1]))), 1e-6)
    return _is_rim_dark(sides, middle, DARK_SIDE) or _is_rim_dark(ends, middle, DARK_END)


def ends_in_shade(shape: Shape, depth: Singles, blur_px: float) -> bool:
    """Return whether one end is much lighter than the middle, and the other is not: a shadow as sharp as the body.

    Thin animals end lighter for the blur alone; nothing is said of them.
    """
    if shape.width < THICK_SIGMAS * max(blur_px, 1.0):
        return False
    line = shape.stations
    middle = max(float(np.median(sample(depth, line[None, :, 0], line[None, :, 1]))), 1e-6)
    ends = [_end_value(shape, depth, k, FAR_END_SHARES) / middle for k in (0, -1)]
    return min(ends) < LIGHT_END and max(ends) > SAME_END


def ends_in_stain(shape: Shape, hue: Singles, blur_px: float) -> bool:
    """Return whether one end has another hue than the middle, and the other end has the middle's."""
    if shape.width < THICK_SIGMAS * max(blur_px, 1.0):
        return False
    line = shape.stations
    middle = float(np.median(sample(hue, line[None, :, 0], line[None, :, 1])))
    off = sorted(abs(_end_value(shape, hue, k, FAR_END_SHARES) - middle) for k in (0, -1))
    return off[1] > OTHER_HUE and off[0] < OTHER_HUE / 2


def _end_value(shape: Shape, picture: Singles, end: int, shares: Floats) -> float:
    """Return a picture's value at an end, a little before its tip."""
    tip = shape.line[end]
    way = tip - shape.stations[end]
    at = tip - shares[:, None] * shape.width * way / max(float(np.hypot(*way)), 1e-9)
    return float(np.median(sample(picture, at[None, :, 0], at[None, :, 1])))


def _is_rim_dark(pair: list[float], middle: float, limits: tuple[float, float]) -> bool:
    dark, uneven = limits
    return max(pair) > dark * middle and max(pair) - min(pair) > uneven * middle


def is_miscut(part: Part) -> bool:
    """Return whether a part may be half a body, or may carry a stump of its neighbour."""
    shape = part.shape
    return (
        not part.whole
        or part.notched
        or shape.below_feret
        or shape.aspect < LEAST_CUT_ASPECT
        or shape.kink > MOST_CUT_KINK
        or shape.turn_rad > MOST_CUT_TURN_RAD
        or (shape.overlap < LOOSE_OVERLAP and part.border < LOOSE_BORDER)
        or _is_cut_across(part)
        or _is_uneven(shape, part.outline)
        or may_be_two(shape, part.outline)
    )


def _is_uneven(shape: Shape, outline: Outline) -> bool:
    """Return whether an outline swells far beyond the body's width, or lies now left, now right of its midline."""
    normal = normals(shape.stations)
    left, _ = rays(outline.soft, shape.stations, normal, 1.3 * shape.width)
    right, _ = rays(outline.soft, shape.stations, -normal, 1.3 * shape.width)
    sway = smooth_width(left - right) / 2
    bulge = float(smooth_width(left + right).max())
    return float(np.ptp(sway)) > MOST_SWAY * shape.width or bulge > MOST_BULGE * shape.width


def _is_cut_across(part: Part) -> bool:
    """Return whether a cut ends a body squarely: a flank is seldom met so, a tail cut off always is."""
    return any(_ends_squarely(part.shape, a, b) for a, b in part.cuts)


def _ends_squarely(shape: Shape, a: Floats, b: Floats) -> bool:
    long_px = float(np.hypot(*(b - a)))
    if long_px < ACROSS_CUT * shape.width:
        return False
    across, middle = (b - a) / max(long_px, 1e-9), (a + b) / 2
    line, stations = shape.line, shape.stations
    for tip, inner in ((line[0], stations[0]), (line[-1], stations[-1])):
        way = tip - inner
        square = abs(float(way @ across)) < ACROSS_COS * float(np.hypot(*way))
        if square and float(np.hypot(*(tip - middle))) < ACROSS_GAP * shape.width:
            return True
    return False


def miscut_or_next(parts: list[Part]) -> list[bool]:
    """Return for each part whether it may be cut wrongly, or touches one that is no whole animal or cut through.

    What such a one lacks, or has too much, its neighbour may have or lack.
    """
    grown = [_grown(part.outline.solid) for part in parts if not part.whole or _is_cut_across(part)]
    return [
        is_miscut(part) or part.is_cut_off or any((near & part.outline.solid).any() for near in grown) for part in parts
    ]


def _grown(solid: Bools) -> Bools:
    return np.asarray(cv().dilate(solid.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0)
