"""The outline of one thing: the level at which it is steepest, spots filled, legs taken off, edges to half a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Ints, Labels, Singles
from boxside.core.measure.contrast import Contrast
from boxside.core.measure.discs import opened_closed, reach_of
from boxside.core.measure.opencv import cv
from boxside.core.measure.shape import Outline

SOFT_SIGMAS = 2.5
ODD_HUE, ODD_LIGHT = 0.1, 0.08
"""Least hue, beyond the ground's own, and least brightness over it, that no shadow and no grain explains."""
GREY_SPOT = 0.45
"""How dark a grey spot at the rim is at least, between the ground or shadow there and the body."""
BAY_SHARE = 0.4
"""Half the mouth, over the half width, of bays that pale spots of the ground's own colour leave."""
OPEN_SHARE, FREE_SHARE = 0.2, 0.26
"""What is narrower than twice this, over the half width, is a leg; tails are wider."""
PIECE_SHARE = 1.0
"""Least area, over the half width squared of the largest animal, of one that hangs on it by its legs."""
STEEP_PERCENTILE = 30
"""Outlines are compared by their less steep parts: a shadow lies on one side only."""
RING = np.ones((3, 3), np.uint8)
Part = tuple[slice, slice]


def disc(radius: float) -> Bytes:
    """Return a disc for morphology, of about that radius and at least one pixel's."""
    side = 2 * reach_of(radius) + 1
    return np.asarray(cv().getStructuringElement(cv().MORPH_ELLIPSE, (side, side)), np.uint8)


def parts_of(mask: Bools) -> tuple[Labels, Ints]:
    """Return labels and the statistics (left, top, width, height, area) of each part, background first."""
    bytes_ = np.ascontiguousarray(mask).view(np.uint8)
    rows, cols = mask.shape
    # Labels of 16 bits take a third of the time; parts that touch nowhere are at most a quarter of the pixels.
    kind = cv().CV_16U if (rows + 1) * (cols + 1) < 4 * 65535 else cv().CV_32S
    n, labels = cv().connectedComponents(bytes_, connectivity=8, ltype=kind)
    if n > 2:
        _, labels, stats, _ = cv().connectedComponentsWithStats(bytes_, connectivity=8, ltype=kind)
        return labels, stats
    # Most masks are of one part, which needs no statistics of labels: they take three times as long as those.
    area = cv().countNonZero(bytes_)
    parts = [(0, 0, cols, rows, mask.size - area), (*cv().boundingRect(bytes_), area)]
    return labels, np.array(parts[:n], np.int32)


def padded(mask: Bools, room: int) -> Bytes:
    """Return a mask of 0 and 1 with so much nothing around it."""
    bytes_ = np.ascontiguousarray(mask).view(np.uint8)
    return np.asarray(cv().copyMakeBorder(bytes_, room, room, room, room, cv().BORDER_CONSTANT, value=0))


def held_in(mask: Bools, room: int = 0) -> Part:
    """Return the smallest part of a picture that holds all of a mask and so much around it; all where that is empty."""
    x, y, w, h = cv().boundingRect(np.ascontiguousarray(mask).view(np.uint8))
    return np.s_[max(y - room, 0) : y + h + room, max(x - room, 0) : x + w + room] if w else np.s_[:, :]


def placed(mask: Bools, part: Part, shape: tuple[int, ...]) -> Bools:
    """Return a picture of that shape in which a part is as the mask."""
    out = np.zeros(shape, bool)
    out[part] = mask
    return out


def percentile(values: Singles, share: float) -> float:
    """Return what NumPy's percentile does, linearly between two values, in a fifth of its time."""
    at = share / 100 * (values.size - 1)
    return _ranked_at(np.partition(values, (int(at), min(int(at) + 1, values.size - 1))), at)


def _ranked_at(ranked: Singles, at: float) -> float:
    """Return the value at a place, with a fraction, of sorted ones."""
    low = int(at)
    first, second = float(ranked[low]), float(ranked[min(low + 1, len(ranked) - 1)])
    return first + (at - low) * (second - first)


def _median_above(ranked: Singles, level: float) -> float | None:
    """Return the median of those sorted values that are above a level, None where there are none."""
    above = ranked[int(np.searchsorted(ranked, np.float32(level), "right")) :]
    return _ranked_at(above, (len(above) - 1) / 2) if len(above) else None


def filled(mask: Bools, most_px: float) -> tuple[Bools, int]:
    """Return a mask without holes of up to so many pixels, and the area of the holes left."""
    part = held_in(mask)
    labels, stats = parts_of(padded(mask[part], 1) == 0)
    small = stats[:, 4] <= most_px
    small[0] = False
    outside = labels[0, 0]
    small[outside] = False
    left = int(stats[1:, 4][~small[1:]].sum() - stats[outside, 4])
    if not small.any():
        return mask, max(left, 0)
    return mask | placed(small[labels][1:-1, 1:-1], part, mask.shape), max(left, 0)


def _without_holes(mask: Bools) -> Bools:
    """Return a mask with every hole filled, however large."""
    outer, _ = cv().findContours(mask.view(np.uint8), cv().RETR_EXTERNAL, cv().CHAIN_APPROX_SIMPLE)
    drawn = np.zeros(mask.shape, np.uint8)
    cv().drawContours(drawn, outer, -1, 1, cv().FILLED)
    return np.asarray(drawn > 0)


def filled_inside(mask: Bools, half: float) -> Bools:
    """Return a mask with its own holes filled: pale spots and enclosed ground, but not loops of legs.

    A loop of legs has a thin wall: grown by a third of the body's half width, it reaches the ground outside.
    Spots at the rim have one too, and are told by being small.
    """
    part = held_in(mask)
    labels, stats = parts_of(padded(mask[part], 1) == 0)
    if len(stats) < 3:
        return mask
    outside = labels == labels[0, 0]
    fill = np.zeros(len(stats), bool)
    for k in range(1, len(stats)):
        if k == labels[0, 0]:
            continue
        grown = cv().dilate((labels == k).astype(np.uint8), disc(0.36 * half)) > 0
        fill[k] = stats[k, 4] <= 0.12 * half * half or not (grown & outside).any()
    return mask | placed(fill[labels][1:-1, 1:-1], part, mask.shape)


@dataclass(frozen=True, slots=True, eq=False)
class Local:
    """The signal of a box with its least and greatest value nearby, how steep and how sharp it is.

    sharp : steepness less that of the blurred signal: soft edges, as shadows have, lose nearly all of it
    odd : where the picture differs from the ground in a way that no shadow does: in hue, or by being brighter
    """

    signal: Singles
    least: Singles
    most: Singles
    slope: Singles
    sharp: Singles
    odd: Bools


def odd_of(con: Contrast, part: tuple[slice, slice]) -> Bools:
    """Return where a part of the plane has a hue of its own or is brighter than its ground."""
    hue, dark = con.hue[part], con.dark[part]
    odd = (hue > con.hue_usual + max(ODD_HUE, 5 * con.hue_noise)) | (dark < -max(ODD_LIGHT, 6 * con.noise))
    return np.asarray(odd)


def steepness(signal: Singles) -> Singles:
    """Return how much a picture changes from pixel to pixel, whichever way that is most (Sobel)."""
    gx = cv().Sobel(signal, cv().CV_32F, 1, 0, ksize=3, scale=0.125)
    gy = cv().Sobel(signal, cv().CV_32F, 0, 1, ksize=3, scale=0.125)
    return np.asarray(cv().magnitude(gx, gy), np.float32)


def local(signal: Singles, odd: Bools, blur_px: float) -> Local:
    """Return a signal with what is around each of its pixels."""
    reach = disc(float(np.clip(2.5 * blur_px, 3, 9)))
    slope = steepness(signal)
    soft = steepness(cv().GaussianBlur(signal, (0, 0), SOFT_SIGMAS * max(blur_px, 0.8)))
    sharp = np.maximum(slope - soft, np.float32(0))
    return Local(signal, cv().erode(signal, reach), cv().dilate(signal, reach), slope, sharp, odd)


def _above_shadow(near: Local, core: Bools, ranked: Singles) -> float:
    """Return the level between a thing and the darkest of its shadow; its values are given in order, too.

    A shadow is softer than the thing's own edge, so just outside that edge the least value nearby is the
    shadow's; the threshold rises until it stands between the two.
    """
    inside = _ranked_at(ranked, (len(ranked) - 1) / 2)
    mask, level = core, inside / 2
    for _ in range(4):
        rim = (cv().dilate(mask.view(np.uint8), RING) > 0) & ~mask
        if not rim.any():
            break
        outside = min(max(percentile(near.least[rim], 80), 0.0), 0.7 * inside)
        level = (inside + outside) / 2
        higher = _median_above(ranked, level)
        if higher is None:
            break
        mask = (near.signal > level) & core
        inside = higher
    return level


def _between_two(values: Singles) -> float:
    """Return the level that best parts the values of a thing in two, as body and shadow (Otsu 1979)."""
    bytes_ = np.minimum(np.maximum(values * 255, np.float32(0)), np.float32(255)).astype(np.uint8)
    level, _ = cv().threshold(bytes_[None], 0, 255, cv().THRESH_BINARY + cv().THRESH_OTSU)
    return float(level) / 255


def _about(near: Local, core: Bools) -> tuple[Local, Bools]:
    """Return the part of a box in which there is a mask, and a pixel around it."""
    part = held_in(core, 1)
    kept = (near.signal, near.least, near.most, near.slope, near.sharp)
    signal, least, most, slope, sharp = (picture[part] for picture in kept)
    return Local(signal, least, most, slope, sharp, near.odd[part]), np.ascontiguousarray(core[part])


def threshold_of(near: Local, core: Bools) -> tuple[float, float, float]:
    """Return the level at which a thing's outline is steepest, the level inside it and just outside."""
    near, core = _about(near, core)
    ranked = np.sort(near.signal[core])
    best = (-1.0, 0.0, 0.0, 0.0)
    least = 0
    top = _ranked_at(ranked, 0.75 * (len(ranked) - 1))
    for level in (_above_shadow(near, core, ranked), _between_two(ranked), 0.65 * top, 0.78 * top):
        full = _without_holes((near.signal > level) & core)
        rim = full & (cv().erode(full.view(np.uint8), RING) == 0)
        inside = _median_above(ranked, level)
        if inside is None or not rim.any():
            continue
        # Relative to what light is left: a body in a shadow is darker by as many times as one in the light.
        outside = near.least[rim]
        relative = near.sharp[rim] / np.minimum(np.maximum(1 - outside, np.float32(0.1)), np.float32(1))
        steep = percentile(relative, STEEP_PERCENTILE)
        # The first level stands unless another is clearly steeper: seams inside a body are steep too. A small
        # dark part is taken for the thing only where the whole has a soft rim, as shade and stains have.
        clearly = 1.2 if np.count_nonzero(full) >= 0.35 * least else 15.0
        least = max(least, int(np.count_nonzero(full)))
        if steep > best[0] * clearly:
            best = (steep, level, inside, max(percentile(outside, 50), 0.0))
    return best[1], best[2], best[3]


def half_width(mask: Bools) -> float:
    """Return the greatest distance of an inner point to the outline."""
    return float(cv().distanceTransform(padded(mask[held_in(mask)], 1), cv().DIST_L2, 5).max())


def _bridged(near: Local, whole: Bools, half: float, around: float, level: float) -> Bools:
    """Return a mask with pale spots at its rim filled: narrow bays that are no bare ground.

    Between two legs, or a leg and the body, the bay shows the ground itself, or its shadow, and stays.
    """
    bay = closed(whole, half) & ((near.signal > around + GREY_SPOT * (level - around)) | near.odd)
    return np.asarray(whole | bay)


def closed(mask: Bools, half: float) -> Bools:
    """Return a mask with bays closed that are narrow as pale spots are."""
    part = held_in(mask)
    return placed(opened_closed(mask[part], 0, reach_of(min(0.36 * half, 14))), part, mask.shape)


def trimmed(whole: Bools, half: float, share: float = OPEN_SHARE, close: float = 0.25) -> Bools:
    """Return a mask without legs (opened), with notches of pale spots closed; its largest part.

    Where that leaves out a second body that hangs on by its legs, nothing is opened: it must not get lost.
    """
    part = held_in(whole)
    open_px = reach_of(share * half + 0.8) if half > 3 else 0
    solid = opened_closed(whole[part], open_px, reach_of(close * half) if half > 5 else 0)
    labels, stats = parts_of(solid)
    if len(stats) <= 2:
        return placed(solid, part, whole.shape)
    first, second = 1 + np.argsort(-stats[1:, 4])[:2]
    if stats[second, 4] > PIECE_SHARE * half * half:
        return whole
    return placed(labels == first, part, whole.shape)


def soft_of(near: Local, solid: Bools) -> Singles:
    """Return 1 inside and 0 outside, with the outline at half height of the edge as it is there."""
    part = held_in(solid, 1)
    least, bytes_ = near.least[part], solid[part].astype(np.uint8)
    share = (near.signal[part] - least) / np.maximum(near.most[part] - least, np.float32(0.02))
    inner = cv().erode(bytes_, RING, iterations=2) > 0
    outer = cv().dilate(bytes_, RING, iterations=1) > 0
    out = np.zeros(solid.shape, np.float32)
    out[part] = np.where(inner, np.float32(1), np.clip(share, np.float32(0), np.float32(1))) * outer
    return out


def edge_width(slope: Singles, solid: Bools, height: float) -> float:
    """Return the median width of the edge in px: its height over its steepness."""
    bytes_ = np.ascontiguousarray(solid).view(np.uint8)
    band = cv().dilate(bytes_, RING) > cv().erode(bytes_, RING)
    steep = percentile(slope[band], 50) if band.any() else 0.0
    return height / max(steep, 1e-4)


def outlines_of(near: Local, own: Bools, level: float, around: float) -> tuple[Outline, Outline, float, int]:
    """Return the outline without legs, the same with large holes open, half the width, the holes' area."""
    half = half_width(own)
    for _ in range(2):
        bridged = _bridged(near, own, half, around, level)
        if np.array_equal(bridged, own):
            break
        own, half = bridged, half_width(bridged)
    open_, holes = filled(own, 0.12 * half * half)
    whole = filled_inside(own, half)
    both = whole & open_
    half = half if np.array_equal(both, own) else half_width(both)
    solid = trimmed(whole, half)
    outline = Outline(soft_of(near, solid), soft_of(near, whole | solid), solid)
    if holes == 0:
        return outline, outline, half, 0
    ring = trimmed(open_, half)
    # Loops of legs enclose ground too; what still does so without legs is the animal itself.
    holes = int(np.count_nonzero(solid & ~ring & (near.signal < 0.5 * level)))
    return outline, Outline(soft_of(near, ring), soft_of(near, open_ | ring), ring), half, holes
