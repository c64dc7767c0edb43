"""From a rectified plane to things that may be animals, each with its soft outline."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Ints, Singles
from boxside.core.measure.contrast import Contrast
from boxside.core.measure.likeness import MOST_NOTCH_RAD
from boxside.core.measure.notches import sharpest
from boxside.core.measure.opencv import cv
from boxside.core.measure.rectify import Plane
from boxside.core.measure.shape import Outline

LEAST_AREA_MM2 = 0.55
LEAST_DEPTH = 0.28
LEAST_TINT = 0.13
SOFT_SIGMAS = 2.5
GREY_HUE = 0.1
ODD_HUE, ODD_LIGHT = 0.1, 0.08
"""Least hue, beyond the ground's own, and least brightness over it, that no shadow and no grain explains."""
HOLLOW_SHARE = 0.025
"""Least area of enclosed ground over that of the animal rolled up around it."""
MOST_SEAM = 0.8
"""Longest seam between pieces over half the width: a few legs are thinner than that, a body is not."""
GREY_SPOT = 0.45
"""How dark a grey spot at the rim is at least, between the ground or shadow there and the body."""
LEFT_HUE, LEFT_DEPTH = 0.06, 0.55
"""Least hue, or else depth, of what is left at the side of a dark thing and is no shadow."""
BAY_SHARE = 0.4
"""Half the mouth, over the half width, of bays that pale spots of the ground's own colour leave."""
OPEN_SHARE, FREE_SHARE = 0.2, 0.26
"""What is narrower than twice this, over the half width, is a leg; tails are wider."""
PIECE_SHARE = 1.0
"""Least area, over the half width squared of the largest animal, of one that hangs on it by its legs."""
STEEP_PERCENTILE = 30
"""Outlines are compared by their less steep parts: a shadow lies on one side only."""
_RING = np.ones((3, 3), np.uint8)
Box = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Blob:
    """One thing on the ground, in a crop of the plane whose first pixel is at `x`, `y`.

    outline : with all holes filled (pale spots make holes); ringed : with its large holes left open
    core : the outline opened and closed more strongly, so that neither legs nor spots are left to make a notch
    depth : how dark it is; level : how much darker than just outside it; hole_px : area of those large holes
    bare : the outline without pale spots at the rim, where that has a sharp notch: it may be two animals
    depths, hues : the crop's depth (tint of pale things) and hue
    left_over : found at the side of a darker thing, once that was taken out
    edge_mm : width of its edge (10 to 90 %); glare_px : burnt-out area that touches it
    """

    outline: Outline
    ringed: Outline
    core: Bools
    x: int
    y: int
    depth: float
    level: float
    width_px: float
    hole_px: int
    edge_mm: float
    glare_px: int
    at_edge: bool
    pale: bool
    convexity: float
    bare: Outline | None
    depths: Singles
    hues: Singles
    left_over: bool


def _disc(radius: float) -> Bytes:
    side = 2 * max(1, round(radius)) + 1
    return np.asarray(cv().getStructuringElement(cv().MORPH_ELLIPSE, (side, side)), np.uint8)


def _parts(mask: Bools) -> tuple[Ints, Ints]:
    """Return labels and the statistics (left, top, width, height, area) of each part, background first."""
    _, labels, stats, _ = cv().connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    return labels, stats


def _filled(mask: Bools, most_px: float) -> tuple[Bools, int]:
    """Return a mask without holes of up to so many pixels, and the area of the holes left."""
    labels, stats = _parts(~np.pad(mask, 1))
    small = stats[:, 4] <= most_px
    small[0] = False
    outside = labels[0, 0]
    small[outside] = False
    left = int(stats[1:, 4][~small[1:]].sum() - stats[outside, 4])
    return (mask | small[labels][1:-1, 1:-1]), max(left, 0)


def _without_holes(mask: Bools) -> Bools:
    """Return a mask with every hole filled, however large."""
    outer, _ = cv().findContours(mask.astype(np.uint8), cv().RETR_EXTERNAL, cv().CHAIN_APPROX_NONE)
    drawn = np.zeros(mask.shape, np.uint8)
    cv().drawContours(drawn, outer, -1, 1, cv().FILLED)
    return np.asarray(drawn > 0)


def _filled_inside(mask: Bools, half: float) -> Bools:
    """Return a mask with its own holes filled: pale spots and enclosed ground, but not loops of legs.

    A loop of legs has a thin wall: grown by a third of the body's half width, it reaches the ground outside.
    Spots at the rim have one too, and are told by being small.
    """
    labels, stats = _parts(~np.pad(mask, 1))
    if len(stats) < 3:
        return mask
    outside = labels == labels[0, 0]
    fill = np.zeros(len(stats), bool)
    for k in range(1, len(stats)):
        if k == labels[0, 0]:
            continue
        grown = cv().dilate((labels == k).astype(np.uint8), _disc(0.36 * half)) > 0
        fill[k] = stats[k, 4] <= 0.12 * half * half or not (grown & outside).any()
    return np.asarray(mask | fill[labels][1:-1, 1:-1])


@dataclass(frozen=True, slots=True, eq=False)
class _Local:
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


def _odd(con: Contrast, part: tuple[slice, slice]) -> Bools:
    """Return where a part of the plane has a hue of its own or is brighter than its ground."""
    hue, dark = con.hue[part], con.dark[part]
    odd = (hue > con.hue_usual + max(ODD_HUE, 5 * con.hue_noise)) | (dark < -max(ODD_LIGHT, 6 * con.noise))
    return np.asarray(odd)


def _steepness(signal: Singles) -> Singles:
    gx = cv().Sobel(signal, cv().CV_32F, 1, 0, ksize=3, scale=0.125)
    gy = cv().Sobel(signal, cv().CV_32F, 0, 1, ksize=3, scale=0.125)
    return np.asarray(cv().magnitude(gx, gy), np.float32)


def _local(signal: Singles, odd: Bools, blur_px: float) -> _Local:
    reach = _disc(float(np.clip(2.5 * blur_px, 3, 9)))
    slope = _steepness(signal)
    soft = _steepness(cv().GaussianBlur(signal, (0, 0), SOFT_SIGMAS * max(blur_px, 0.8)))
    sharp = np.maximum(slope - soft, np.float32(0))
    return _Local(signal, cv().erode(signal, reach), cv().dilate(signal, reach), slope, sharp, odd)


def _above_shadow(near: _Local, core: Bools) -> float:
    """Return the level between a thing and the darkest of its shadow.

    A shadow is softer than the thing's own edge, so just outside that edge the least value nearby is the
    shadow's; the threshold rises until it stands between the two.
    """
    inside = float(np.median(near.signal[core]))
    mask, level = core, inside / 2
    for _ in range(4):
        rim = (cv().dilate(mask.astype(np.uint8), _RING) > 0) & ~mask
        if not rim.any():
            break
        outside = float(np.clip(np.percentile(near.least[rim], 80), 0, 0.7 * inside))
        level = (inside + outside) / 2
        mask = (near.signal > level) & core
        if not mask.any():
            break
        inside = float(np.median(near.signal[mask]))
    return level


def _between_two(near: _Local, core: Bools) -> float:
    """Return the level that best parts the values of a thing in two, as body and shadow (Otsu 1979)."""
    values = np.clip(near.signal[core] * 255, 0, 255).astype(np.uint8)
    level, _ = cv().threshold(values[None], 0, 255, cv().THRESH_BINARY + cv().THRESH_OTSU)
    return float(level) / 255


def _threshold(near: _Local, core: Bools) -> tuple[float, float, float]:
    """Return the level at which a thing's outline is steepest, the level inside it and just outside."""
    best = (-1.0, 0.0, 0.0, 0.0)
    least = 0
    top = float(np.percentile(near.signal[core], 75))
    for level in (_above_shadow(near, core), _between_two(near, core), 0.65 * top, 0.78 * top):
        mask = (near.signal > level) & core
        full = _without_holes(mask)
        rim = full & (cv().erode(full.astype(np.uint8), _RING) == 0)
        if not rim.any():
            continue
        # Relative to what light is left: a body in a shadow is darker by as many times as one in the light.
        relative = near.sharp[rim] / np.clip(1 - near.least[rim], 0.1, 1)
        steep = float(np.percentile(relative, STEEP_PERCENTILE))
        # The first level stands unless another is clearly steeper: seams inside a body are steep too. A small
        # dark part is taken for the thing only where the whole has a soft rim, as shade and stains have.
        clearly = 1.2 if np.count_nonzero(full) >= 0.35 * least else 15.0
        least = max(least, int(np.count_nonzero(full)))
        if steep > best[0] * clearly:
            outside = float(np.median(near.least[rim]))
            best = (steep, level, float(np.median(near.signal[mask])), max(outside, 0.0))
    return best[1], best[2], best[3]


def _half_width(mask: Bools) -> float:
    """Return the greatest distance of an inner point to the outline."""
    return float(cv().distanceTransform(np.pad(mask, 1).astype(np.uint8), cv().DIST_L2, 5).max())


def _bridged(near: _Local, whole: Bools, half: float, around: float, level: float) -> Bools:
    """Return a mask with pale spots at its rim filled: narrow bays that are no bare ground.

    Between two legs, or a leg and the body, the bay shows the ground itself, or its shadow, and stays.
    """
    bay = _closed(whole, half) & ((near.signal > around + GREY_SPOT * (level - around)) | near.odd)
    return np.asarray(whole | bay)


def _closed(mask: Bools, half: float) -> Bools:
    """Return a mask with bays closed that are narrow as pale spots are."""
    reach = min(0.36 * half, 14)
    room = round(reach) + 2
    bytes_ = np.pad(mask, room).astype(np.uint8)
    return np.asarray(cv().morphologyEx(bytes_, cv().MORPH_CLOSE, _disc(reach))[room:-room, room:-room] > 0)


def _trimmed(whole: Bools, half: float, share: float = OPEN_SHARE, close: float = 0.25) -> Bools:
    """Return a mask without legs (opened), with notches of pale spots closed; its largest part.

    Where that leaves out a second body that hangs on by its legs, nothing is opened: it must not get lost.
    """
    room = 8 + round(close * half)
    bytes_ = np.pad(whole, room).astype(np.uint8)
    opened = cv().morphologyEx(bytes_, cv().MORPH_OPEN, _disc(share * half + 0.8)) if half > 3 else bytes_
    closed = cv().morphologyEx(opened, cv().MORPH_CLOSE, _disc(close * half)) if half > 5 else opened
    solid = closed[room:-room, room:-room] > 0
    labels, stats = _parts(solid)
    if len(stats) <= 2:
        return solid
    first, second = 1 + np.argsort(-stats[1:, 4])[:2]
    if stats[second, 4] > PIECE_SHARE * half * half:
        return whole
    return np.asarray(labels == first)


def without_legs(outline: Outline, half: float) -> Outline | None:
    """Return an outline opened more strongly, None where that takes off more than legs.

    Legs that lie together, or along the body, survive the first opening; a second animal does not count as
    legs: then more than a seventh of the area goes, and nothing is returned.
    """
    bytes_ = np.pad(outline.solid, 8).astype(np.uint8)
    opened = cv().morphologyEx(bytes_, cv().MORPH_OPEN, _disc(0.5 * half))[8:-8, 8:-8] > 0
    labels, stats = _parts(opened)
    if len(stats) < 2:
        return None
    body = np.asarray(labels == 1 + int(np.argmax(stats[1:, 4])))
    if np.count_nonzero(body) < 0.86 * np.count_nonzero(outline.solid):
        return None
    near = cv().dilate(body.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    return Outline(np.where(near, outline.soft, np.float32(0)), outline.whole, body)


def for_cuts(blob: Blob) -> Outline:
    """Return a blob's outline without roots of legs, which make notches that are no contact."""
    if blob.hole_px > 0:
        return blob.ringed
    return Outline(blob.outline.soft, blob.outline.whole, _trimmed(blob.outline.solid, blob.width_px / 2, FREE_SHARE))


def _soft(near: _Local, solid: Bools) -> Singles:
    """Return 1 inside and 0 outside, with the outline at half height of the edge as it is there."""
    share = (near.signal - near.least) / np.maximum(near.most - near.least, np.float32(0.02))
    bytes_ = solid.astype(np.uint8)
    ring = np.ones((3, 3), np.uint8)
    inner = cv().erode(bytes_, ring, iterations=2) > 0
    outer = cv().dilate(bytes_, ring, iterations=1) > 0
    out = np.where(inner, np.float32(1), np.clip(share, 0, 1).astype(np.float32))
    return np.asarray(np.where(outer, out, np.float32(0)), np.float32)


def _edge_width(slope: Singles, solid: Bools, height: float) -> float:
    """Return the median width of the edge in px: its height over its steepness."""
    bytes_ = solid.astype(np.uint8)
    band = cv().dilate(bytes_, _RING) - cv().erode(bytes_, _RING)
    steep = float(np.median(slope[band > 0])) if band.any() else 0.0
    return height / max(steep, 1e-4)


def _blobs_near(
    plane: Plane, con: Contrast, core: Bools, box: Box, pale: bool, taken: Bools | None = None
) -> list[Blob]:
    """Return the things in a box whose rough mask is `core`, outlined at half level; without what is taken."""
    left, top, right, bottom = box
    part = np.s_[top:bottom, left:right]
    signal = con.tint[part] if pale else con.depth[part] if taken is None else con.depth[part] + con.hue[part]
    near = _local(signal, _odd(con, part), plane.blur_px)
    threshold, level, around = _threshold(near, core)
    glare = con.glare[top:bottom, left:right]
    least = LEAST_AREA_MM2 * plane.px_per_mm**2
    out = []
    mask = near.signal > threshold
    if near.odd.any():
        # Pale spots may part a thin tail from its body; photos have thin fringes of false colour at dark edges.
        sure = cv().morphologyEx(near.odd.astype(np.uint8), cv().MORPH_OPEN, _RING) > 0
        mask |= _closed(mask, _half_width(mask & core)) & sure
    if taken is not None:
        mask &= ~taken
    for own in _pieces(mask, core, least):
        outline, ringed, half, holes = _outlines(near, own, level, around)
        area = np.count_nonzero(outline.solid)
        if area < least:
            continue
        edge = _edge_width(near.slope, outline.solid, level - around) / plane.px_per_mm
        border = _on_border(own, box, con.dark.shape)
        facts = (level, level - around, 2 * half, holes, edge, _glare_on(glare, own), border, pale)
        convex = area / max(_hull_area(outline.solid), 1.0)
        seen = (near.signal, con.hue[part], taken is not None)
        core_ = _trimmed(outline.solid, half, FREE_SHARE, BAY_SHARE)
        out.append(Blob(outline, ringed, core_, left, top, *facts, convex, _bare(near, own), *seen))
    return out


def _pieces(mask: Bools, core: Bools, least: float) -> list[Bools]:
    """Return the parts of a mask that reach a core; what hangs together by legs only, in pieces."""
    labels, stats = _parts(mask)
    out: list[Bools] = []
    for k in range(1, len(stats)):
        if stats[k, 4] < least:
            continue
        own = labels == k
        if (own & core).any():
            out += _freed(own, least)
    return out


def _freed(own: Bools, least: float) -> list[Bools]:
    """Return a part, in pieces where opening leaves several that are as wide as animals."""
    half = _half_width(own)
    bytes_ = np.pad(own, 1).astype(np.uint8)
    opened = cv().morphologyEx(bytes_, cv().MORPH_OPEN, _disc(FREE_SHARE * half + 0.8))[1:-1, 1:-1] > 0
    labels, stats = _parts(opened)
    large = [k for k in range(1, len(stats)) if stats[k, 4] >= max(least, PIECE_SHARE * half * half)]
    if len(large) < 2:
        return [own]
    gaps = [cv().distanceTransform((labels != k).astype(np.uint8), cv().DIST_L2, 3) for k in large]
    nearest = np.argmin(gaps, axis=0)
    seam = own[:, 1:] & own[:, :-1] & (nearest[:, 1:] != nearest[:, :-1])
    if np.count_nonzero(seam) > MOST_SEAM * half:
        return [own]
    return [_largest(own & (nearest == k)) for k in range(len(large))]


def _largest(mask: Bools) -> Bools:
    labels, stats = _parts(mask)
    return np.asarray(labels == 1 + int(np.argmax(stats[1:, 4])))


def _outlines(near: _Local, own: Bools, level: float, around: float) -> tuple[Outline, Outline, float, int]:
    """Return the outline without legs, the same with large holes open, half the width, the holes' area."""
    for _ in range(2):
        half = _half_width(own)
        own = _bridged(near, own, half, around, level)
    half = _half_width(own)
    open_, holes = _filled(own, 0.12 * half * half)
    whole = _filled_inside(own, half)
    half = _half_width(whole & open_)
    solid = _trimmed(whole, half)
    outline = Outline(_soft(near, solid), _soft(near, whole | solid), solid)
    if holes == 0:
        return outline, outline, half, 0
    ring = _trimmed(open_, half)
    # Loops of legs enclose ground too; what still does so without legs is the animal itself.
    holes = int(np.count_nonzero(solid & ~ring & (near.signal < 0.5 * level)))
    return outline, Outline(_soft(near, ring), _soft(near, open_ | ring), ring), half, holes


def _bare(near: _Local, own: Bools) -> Outline | None:
    """Return the outline with no bay filled, None where that has no sharp notch."""
    half = _half_width(own)
    whole = _filled_inside(own, half)
    solid = _trimmed(whole, half, FREE_SHARE)
    if sharpest(_trimmed(solid, half, FREE_SHARE, BAY_SHARE), 2 * half) <= MOST_NOTCH_RAD:
        return None
    return Outline(_soft(near, solid), _soft(near, whole | solid), solid)


def is_hollow(blob: Blob) -> bool:
    """Return whether a thing encloses ground: a compact place in it, lit or in shade, that has no hue.

    Pale spots are too small for one, and shells have a hue of their own.
    """
    solid = blob.outline.solid
    bare = (
        solid
        & (blob.depths < 0.55 * blob.depth)
        & (blob.hues < max(GREY_HUE, 0.5 * float(np.median(blob.hues[solid]))))
    )
    opened = cv().morphologyEx(bare.astype(np.uint8), cv().MORPH_OPEN, _RING) > 0
    _, stats = _parts(opened)
    most = int(stats[1:, 4].max()) if len(stats) > 1 else 0
    return most > HOLLOW_SHARE * float(np.count_nonzero(solid))


def _hull_area(solid: Bools) -> float:
    points = cv().findNonZero(solid.astype(np.uint8))
    return float(cv().contourArea(cv().convexHull(points))) + 0.5 * len(cv().convexHull(points))


def _on_border(own: Bools, box: Box, shape: tuple[int, ...]) -> bool:
    left, top, right, bottom = box
    sides = (
        left == 0 and own[:, :2].any(),
        top == 0 and own[:2].any(),
        right == shape[1] and own[:, -2:].any(),
        bottom == shape[0] and own[-2:].any(),
    )
    return any(sides)


def _glare_on(glare: Bools, own: Bools) -> int:
    """Return the area of the largest burnt-out spot of which a good part of the rim lies on the thing."""
    if not glare.any():
        return 0
    labels, stats = _parts(glare)
    near = cv().dilate(own.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    most = 0
    for k in range(1, len(stats)):
        if stats[k, 4] <= most:
            continue
        spot = labels == k
        rim = (cv().dilate(spot.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0) & ~spot
        if np.count_nonzero(rim & near) > 0.2 * np.count_nonzero(rim):
            most = int(stats[k, 4])
    return most


def _candidates(mask: Bools, least_px: float) -> list[tuple[Bools, Box]]:
    """Return (rough mask in its box, box with room around it) of each large enough part."""
    labels, stats = _parts(mask)
    rows, cols = mask.shape
    out = []
    for k in range(1, len(stats)):
        x, y, w, h, area = (int(v) for v in stats[k])
        if area < least_px:
            continue
        room = max(6, round(0.35 * float(np.sqrt(area))))
        box = (max(x - room, 0), max(y - room, 0), min(x + w + room, cols), min(y + h + room, rows))
        out.append((labels[box[1] : box[3], box[0] : box[2]] == k, box))
    return out


def _without_repeats(blobs: list[Blob], shape: tuple[int, ...]) -> list[Blob]:
    """Return blobs of which no larger one covers a good part: neighbours may find one thing twice."""
    taken = np.zeros(shape, bool)
    out = []
    for blob in sorted(blobs, key=lambda b: -np.count_nonzero(b.outline.solid)):
        solid = blob.outline.solid
        part = taken[blob.y : blob.y + solid.shape[0], blob.x : blob.x + solid.shape[1]]
        if np.count_nonzero(part & solid) < 0.3 * np.count_nonzero(solid):
            out.append(blob)
            part |= solid
    return out


def dark_blobs(plane: Plane, con: Contrast, within: bool = False) -> list[Blob]:
    """Return the dark things of a plane (of its arena only, if `within`), the largest first."""
    least = LEAST_AREA_MM2 * plane.px_per_mm**2
    mask = con.depth > max(LEAST_DEPTH, 6 * con.noise)
    if within:
        mask &= con.arena
    out: list[Blob] = []
    for core, box in _candidates(mask, 0.6 * least):
        out += _blobs_near(plane, con, core, box, pale=False)
    out = _without_repeats(out, con.dark.shape)
    # Without a card there are rims and labels in the picture, and their shades.
    return out if within else out + _left_over(plane, con, mask, out)


def _left_over(plane: Plane, con: Contrast, mask: Bools, found: list[Blob]) -> list[Blob]:
    """Return things that lie against darker ones, whose level they did not reach; shadows have no hue."""
    taken = np.zeros(mask.shape, np.uint8)
    for blob in found:
        rows, cols = blob.outline.solid.shape
        taken[blob.y : blob.y + rows, blob.x : blob.x + cols] |= blob.outline.solid
    taken = cv().dilate(taken, _disc(0.12 * plane.px_per_mm + 1))
    bare = (mask & (taken == 0)).astype(np.uint8)
    rest = cv().morphologyEx(cv().morphologyEx(bare, cv().MORPH_CLOSE, _disc(3)), cv().MORPH_OPEN, _disc(3))
    least = LEAST_AREA_MM2 * plane.px_per_mm**2
    out: list[Blob] = []
    for core, box in _candidates((rest > 0) & (taken == 0), least):
        part = np.s_[box[1] : box[3], box[0] : box[2]]
        own_hue = float(np.median(con.hue[part][core])) - con.hue_usual
        if own_hue < max(LEFT_HUE, 4 * con.hue_noise) and float(np.median(con.depth[part][core])) < LEFT_DEPTH:
            continue
        out += _blobs_near(plane, con, core, box, pale=False, taken=taken[part] > 0)
    return _without_repeats(out, mask.shape)


def pale_blobs(plane: Plane, con: Contrast, taken: Bools, within: bool = False) -> list[Blob]:
    """Return things that differ from the ground in tint, away from where something was found."""
    least = LEAST_AREA_MM2 * plane.px_per_mm**2
    mask = con.tint > max(LEAST_TINT, 6 * con.tint_noise)
    if within:
        mask &= con.arena
    out: list[Blob] = []
    for core, box in _candidates(mask, least):
        there = taken[box[1] : box[3], box[0] : box[2]]
        if np.count_nonzero(there & core) < 0.05 * np.count_nonzero(core):
            out += _blobs_near(plane, con, core, box, pale=True)
    return _without_repeats(out, con.dark.shape)
