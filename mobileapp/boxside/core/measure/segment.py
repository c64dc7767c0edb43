"""From a rectified plane to things that may be animals, each with its soft outline."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Singles
from boxside.core.measure.contrast import Contrast
from boxside.core.measure.discs import opened_closed, reach_of
from boxside.core.measure.likeness import MOST_NOTCH_RAD
from boxside.core.measure.notches import sharpest
from boxside.core.measure.opencv import cv
from boxside.core.measure.rectify import Plane
from boxside.core.measure.shape import Outline
from boxside.core.measure.silhouette import (
    BAY_SHARE,
    FREE_SHARE,
    PIECE_SHARE,
    RING,
    Local,
    closed,
    disc,
    edge_width,
    filled_inside,
    half_width,
    held_in,
    local,
    odd_of,
    outlines_of,
    parts_of,
    percentile,
    placed,
    soft_of,
    threshold_of,
    trimmed,
)

LEAST_AREA_MM2 = 0.55
LEAST_DEPTH = 0.2
LEAST_TINT = 0.13
GREY_HUE = 0.1
HOLLOW_SHARE, HOLLOW_SHELL_SHARE = 0.01, 0.04
"""Least area of enclosed ground over that of the animal rolled up around it, and where a shell may look so, too."""
LIGHT_SHARE, SOME_SHARE = 0.0165, 0.004
"""The same of any light place, whatever its hue, in all and in one piece."""
MOST_ROLLED = 25.0
"""Area of an animal rolled up, hole and all, over its width squared; rims of drops are far thinner."""
HIGHLIGHT = 0.06
"""How much brighter than the ground no ground is, as a share."""
SHELL_HUE = 0.3
"""Hue from which a thing with light places may as well be a shell."""
MOST_SEAM = 0.8
"""Longest seam between pieces over the thinnest's half width: a leg is thinner than that, a body is not."""
LEFT_HUE, LEFT_DEPTH = 0.06, 0.55
"""Least hue, or else depth, of what is left at the side of a dark thing and is no shadow."""
THIN_AREA, THIN_HALF = 0.35, 0.12
"""Least area and half width, over the half width (squared) of the widest animal of a clump, of what is no leg."""
DEEPER, MOST_OF_IT = 1.4, 0.75
"""How dark a part of a thing is at least, over its whole, and the most of its area, where it is a thing of its own."""
ROOM_PX = 4
"""What the look for notches sees around a mask."""
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


def without_legs(outline: Outline, half: float) -> Outline | None:
    """Return an outline opened more strongly, None where that takes off more than legs.

    Legs that lie together, or along the body, survive the first opening; a second animal does not count as
    legs: then more than a seventh of the area goes, and nothing is returned.
    """
    opened = opened_closed(outline.solid, reach_of(0.5 * half), 0)
    labels, stats = parts_of(opened)
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
    half = blob.width_px / 2
    solid = trimmed(blob.outline.solid, half, FREE_SHARE)
    # A thin animal on a wide one goes as a leg would; it is larger, and wider than a leg is.
    labels, stats = parts_of(blob.outline.solid & ~solid)
    for k in range(1, len(stats)):
        if stats[k, 4] > THIN_AREA * half * half and half_width(labels == k) > THIN_HALF * half:
            solid |= labels == k
    return Outline(blob.outline.soft, blob.outline.whole, solid)


def _blobs_near(
    plane: Plane, con: Contrast, core: Bools, box: Box, pale: bool, taken: Bools | None = None
) -> list[Blob]:
    """Return the things in a box whose rough mask is `core`, outlined at half level; without what is taken."""
    left, top, right, bottom = box
    part = np.s_[top:bottom, left:right]
    signal = con.tint[part] if pale else con.depth[part] if taken is None else con.depth[part] + con.hue[part]
    near = local(signal, odd_of(con, part), plane.blur_px)
    threshold, level, around = threshold_of(near, core)
    glare = con.glare[top:bottom, left:right]
    least = LEAST_AREA_MM2 * plane.px_per_mm**2
    out = []
    mask = near.signal > threshold
    if near.odd.any():
        # Pale spots may part a thin tail from its body; photos have thin fringes of false colour at dark edges.
        sure = cv().morphologyEx(near.odd.astype(np.uint8), cv().MORPH_OPEN, RING) > 0
        mask |= closed(mask, half_width(mask & core)) & sure
    if taken is not None:
        mask &= ~taken
    for own in _pieces(mask, core, least):
        outline, ringed, half, holes = outlines_of(near, own, level, around)
        area = np.count_nonzero(outline.solid)
        if area < least:
            continue
        edge = edge_width(near.slope, outline.solid, level - around) / plane.px_per_mm
        border = _on_border(own, box, con.dark.shape)
        facts = (level, level - around, 2 * half, holes, edge, _glare_on(glare, own), border, pale)
        convex = area / max(_hull_area(outline.solid), 1.0)
        seen = (near.signal, con.hue[part], taken is not None)
        core_ = trimmed(outline.solid, half, FREE_SHARE, BAY_SHARE)
        out.append(Blob(outline, ringed, core_, left, top, *facts, convex, _bare(near, own), *seen))
    return out


def _pieces(mask: Bools, core: Bools, least: float) -> list[Bools]:
    """Return the parts of a mask that reach a core; what hangs together by legs only, in pieces."""
    labels, stats = parts_of(mask)
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
    half = half_width(own)
    part = held_in(own)
    opened = opened_closed(own[part], reach_of(FREE_SHARE * half + 0.8), 0)
    labels, stats = parts_of(placed(opened, part, own.shape))
    large = [k for k in range(1, len(stats)) if stats[k, 4] >= max(least, PIECE_SHARE * half * half)]
    if len(large) < 2:
        return [own]
    gaps = [cv().distanceTransform((labels != k).astype(np.uint8), cv().DIST_L2, 3) for k in large]
    nearest = np.argmin(gaps, axis=0)
    seam = own[:, 1:] & own[:, :-1] & (nearest[:, 1:] != nearest[:, :-1])
    thin = min(half_width(own & (nearest == k)) for k in range(len(large)))
    # Several legs may lead from one to the other; each is thin.
    widest = parts_of(seam)[1][1:, 4].max(initial=0)
    if widest > MOST_SEAM * thin:
        return [own]
    return [_largest(own & (nearest == k)) for k in range(len(large))]


def _largest(mask: Bools) -> Bools:
    labels, stats = parts_of(mask)
    return np.asarray(labels == 1 + int(np.argmax(stats[1:, 4])))


def _bare(near: Local, own: Bools) -> Outline | None:
    """Return the outline with no bay filled, None where that has no sharp notch."""
    half = half_width(own)
    whole = filled_inside(own, half)
    solid = trimmed(whole, half, FREE_SHARE)
    core = trimmed(solid, half, FREE_SHARE, BAY_SHARE)
    if sharpest(core[held_in(core, ROOM_PX)], 2 * half) <= MOST_NOTCH_RAD:
        return None
    return Outline(soft_of(near, solid), soft_of(near, whole | solid), solid)


def is_hollow(blob: Blob) -> bool:
    """Return whether a thing encloses ground: a compact place in it, lit or in shade, that has no hue.

    Pale spots are too small for one. Shells have a hue of their own, and what is lighter in them is hardly any.
    """
    solid = blob.outline.solid
    area = float(np.count_nonzero(solid))
    if area > MOST_ROLLED * blob.width_px**2:
        return False
    # What is brighter than the ground is a highlight.
    light = solid & (blob.depths < 0.55 * blob.depth) & (blob.depths > -HIGHLIGHT)
    hue = float(np.median(blob.hues[solid]))
    bare = light & (blob.hues < max(GREY_HUE, 0.5 * hue))
    if _largest_open(bare) > (HOLLOW_SHELL_SHARE if hue > SHELL_HUE else HOLLOW_SHARE) * area:
        return True
    if hue > SHELL_HUE:
        return False
    return bool(np.count_nonzero(light) > LIGHT_SHARE * area) and _largest_open(light) > SOME_SHARE * area


def _largest_open(mask: Bools) -> int:
    """Return the area of the largest part of a mask that is left once it is opened by a pixel."""
    opened = cv().morphologyEx(mask.astype(np.uint8), cv().MORPH_OPEN, RING) > 0
    _, stats = parts_of(opened)
    return int(stats[1:, 4].max()) if len(stats) > 1 else 0


def _hull_area(solid: Bools) -> float:
    borders, _ = cv().findContours(solid.astype(np.uint8), cv().RETR_EXTERNAL, cv().CHAIN_APPROX_SIMPLE)
    hull = cv().convexHull(np.concatenate(borders))
    return float(cv().contourArea(hull)) + 0.5 * len(hull)


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
    around = cv().dilate(own.astype(np.uint8), np.ones((11, 11), np.uint8)) > 0
    if not (glare & around).any():
        return 0
    labels, stats = parts_of(glare)
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
    rows, cols = mask.shape
    out = []
    for x, y, w, h, column in _borders(mask):
        if w * h < least_px:
            continue
        labels, stats = parts_of(mask[y : y + h, x : x + w])
        k = int(labels[0, column])
        if stats[k, 4] < least_px:
            continue
        room = max(6, round(0.35 * float(np.sqrt(stats[k, 4]))))
        box = (max(x - room, 0), max(y - room, 0), min(x + w + room, cols), min(y + h + room, rows))
        core = np.pad(labels == k, ((y - box[1], box[3] - y - h), (x - box[0], box[2] - x - w)))
        out.append((core, box))
    return out


def _borders(mask: Bools) -> list[tuple[int, int, int, int, int]]:
    """Return (left, top, width, height, column of a pixel in the top row) of each part, from the top down.

    Borders are quicker to find than labels, of which there is one for each pixel of the plane.
    """
    found, above = cv().findContours(mask.astype(np.uint8), cv().RETR_CCOMP, cv().CHAIN_APPROX_SIMPLE)
    out = []
    for k, border in enumerate(found):
        if above[0][k][3] < 0:
            x, y, w, h = cv().boundingRect(border)
            top = border[:, 0][border[:, 0, 1] == y]
            out.append((y, int(top[:, 0].min()), x, w, h))
    return [(x, y, w, h, first - x) for y, first, x, w, h in sorted(out)]


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


def deeper_blobs(plane: Plane, con: Contrast, blob: Blob) -> list[Blob]:
    """Return what stands out from a thing as that does from the ground: an animal on a stain, or in a shadow."""
    solid = blob.outline.solid
    part = np.s_[blob.y : blob.y + solid.shape[0], blob.x : blob.x + solid.shape[1]]
    depth = con.depth[part]
    top = percentile(depth[solid], 97)
    if top < DEEPER * blob.depth:
        return []
    mask = np.zeros(con.depth.shape, bool)
    mask[part] = solid & (depth > (blob.depth + top) / 2)
    out: list[Blob] = []
    for core, box in _candidates(mask, LEAST_AREA_MM2 * plane.px_per_mm**2):
        out += _blobs_near(plane, con, core, box, pale=False)
    area = MOST_OF_IT * np.count_nonzero(solid)
    return [b for b in _without_repeats(out, con.dark.shape) if np.count_nonzero(b.outline.solid) < area]


def _left_over(plane: Plane, con: Contrast, mask: Bools, found: list[Blob]) -> list[Blob]:
    """Return things that lie against darker ones, whose level they did not reach; shadows have no hue."""
    taken = np.zeros(mask.shape, np.uint8)
    for blob in found:
        rows, cols = blob.outline.solid.shape
        taken[blob.y : blob.y + rows, blob.x : blob.x + cols] |= blob.outline.solid
    taken = cv().dilate(taken, disc(0.12 * plane.px_per_mm + 1))
    rest = np.zeros(mask.shape, bool)
    for left, top, right, bottom in con.boxes:
        part = np.s_[top:bottom, left:right]
        free = taken[part] == 0
        bare = (mask[part] & free).astype(np.uint8)
        some = cv().morphologyEx(cv().morphologyEx(bare, cv().MORPH_CLOSE, disc(3)), cv().MORPH_OPEN, disc(3))
        rest[part] |= (some > 0) & free
    least = LEAST_AREA_MM2 * plane.px_per_mm**2
    out: list[Blob] = []
    for core, box in _candidates(rest, least):
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
