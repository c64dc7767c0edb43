"""What in a plane may be an animal, and what is a shell, a stain, a drop, a crumb or a leg."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boxside.core.measure.arrays import Bools
from boxside.core.measure.contrast import Contrast, tint_sigma
from boxside.core.measure.likeness import faults, likeness
from boxside.core.measure.notches import sharpest
from boxside.core.measure.opencv import cv
from boxside.core.measure.patches import Patches
from boxside.core.measure.rectify import Plane
from boxside.core.measure.refine import refined_in
from boxside.core.measure.segment import (
    LEAST_TINT,
    LEFT_DEPTH,
    ROOM_PX,
    Blob,
    dark_blobs,
    deeper_blobs,
    is_hollow,
    pale_blobs,
)
from boxside.core.measure.shape import Shape, start_of
from boxside.core.measure.silhouette import RING, disc, edge_width, held_in, steepness

LEAST_DEPTH = 0.3
LEAST_LEVEL = 0.1
LEAST_WITHOUT_CARD_MM = 4.0
SURELY_DARK = 0.5
"""Depth from which a thing is no part of a pale animal."""
LEAST_LENGTH_MM = 2.2
NEAR_MM, MOST_ALONG = 0.25, (0.28, 0.36)
"""What counts as along a dark thing, and the most of an outline that an animal at its side has there, soft or sharp."""
LEG_AREA, LEG_WIDTH = 15.0, 0.3
"""Area of an animal over that of its legs, and width of those over its own."""
BARE_LEVEL = 0.55
"""Depth over what is around, over the depth itself, where there is bare ground around: no stain, no shade."""
EDGE_SIGMAS, MOST_SOFT, MOST_SOFT_TINT = 2.56, 1.35, 1.6
"""A blurred step rises from 10 to 90 % in so many sigmas; how much wider a body's edge may be, in depth and in tint."""
END_HUE, END_LEVEL, LEAST_END_MM = 0.08, 0.2, 0.5
"""Least hue, depth over what is around, and width of what may be an end of an animal beneath another."""
PART_OF = 1.25
"""Area of a dark clump over that of a pale thing in it."""
LEAST_HUE = 0.06
MOST_PALE_ASPECT = 8.0
SURE_LIKENESS = 0.9
LEAST_LEFT = 0.45
"""Likeness to an animal of what is left at the side of a darker one: shade and legs are left there, too."""


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """One thing on the ground with its shape as a single animal, its sharpest notch, and what is wrong.

    company : at its side is something of another colour that is no animal by its form: an end of one, perhaps
    """

    blob: Blob
    shape: Shape | None
    notch: float
    faults: tuple[str, ...]
    company: bool = False


def find_things(plane: Plane, con: Contrast, card: bool) -> list[Thing]:
    """Return what may be animals, each with its shape as a single one; without shells, stains, crumbs."""
    kept = _dark_things(plane, con, card)
    pale = _pale_things(plane, con, card, kept)
    covered = _marked(con, [t.blob for t in pale])
    # Dark parts of a pale animal were found before as things of their own, and so was its shadow.
    kept = [t for t in kept if not t.faults or _share_in(covered, t.blob) < 0.4]
    around = cv().dilate(covered.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    kept = [t for t in kept if not (_is_shade(t.blob, con) and _share_in(around, t.blob) > 0)]
    return kept + pale if card else _alike(kept + pale, con.arena, plane.px_per_mm)


def _dark_things(plane: Plane, con: Contrast, card: bool) -> list[Thing]:
    """Return dark things, without legs and shades at their sides."""
    blobs = dark_blobs(plane, con, not card)
    dark = [_thing(b, plane.blur_px) for b in blobs if (_is_dark(b) or _is_crisp(b, plane)) and not _is_round(b)]
    kept = [t for t in dark if _is_animal(t, plane) and (_is_dark(t.blob) or _is_faint_animal(t))]
    kept = [t for t in kept if t.blob.depth > SURELY_DARK or not _in_round(t.blob, con, plane)]
    if card:
        known = {id(t.blob) for t in kept}
        kept += [t for b in blobs if id(b) not in known for t in _on_it(b, plane, con)]
    kept = [t for t in kept if not _is_scrap(t, kept)]
    sure = _marked(con, [t.blob for t in kept if not t.blob.left_over])
    kept = [t for t in kept if not (t.blob.left_over and (_is_leg(t, kept) or _lies_along(t.blob, sure, plane)))]
    kept = [t for t in kept if not (t.blob.left_over and t.shape is not None and t.shape.aspect > MOST_PALE_ASPECT)]
    known = {id(t.blob) for t in kept}
    ends = [b for b in blobs if b.left_over and id(b) not in known and _may_be_end(b, plane, con)]
    return [replace(t, company=any(_is_at(b, t, plane) for b in ends)) for t in kept] if ends else kept


def _is_faint_animal(thing: Thing) -> bool:
    """Return whether a thing that is hardly darker than the ground has all of an animal's form."""
    slim = thing.shape is None or thing.shape.aspect > MOST_PALE_ASPECT
    return not thing.blob.at_edge and (is_hollow(thing.blob) or not (thing.faults or slim))


def _may_be_end(blob: Blob, plane: Plane, con: Contrast) -> bool:
    """Return whether what is left at the side of a dark thing has a colour, is sharp, and larger than a leg."""
    hue = float(np.median(blob.hues[blob.outline.solid])) - con.hue_usual
    wide = blob.width_px > LEAST_END_MM * plane.px_per_mm
    return hue > END_HUE and wide and blob.level > END_LEVEL and _is_sharp(blob, plane)


def _is_at(end: Blob, thing: Thing, plane: Plane) -> bool:
    """Return whether an end lies at the side of a thing that is wider than a leg of that."""
    near = _gap_px(end, thing.blob) < NEAR_MM * plane.px_per_mm + plane.blur_px + 4
    return near and end is not thing.blob and end.width_px > LEG_WIDTH * thing.blob.width_px


def _pale_things(plane: Plane, con: Contrast, card: bool, dark: list[Thing]) -> list[Thing]:
    """Return things that are seen by their tint alone, away from dark ones."""
    taken = np.zeros(con.dark.shape, bool)
    for thing in dark:
        if not thing.faults:
            _mark(taken, thing.blob)
    sharp = 0.45 * plane.px_per_mm + 2.5 * plane.blur_px
    if card:
        sigma = float(np.hypot(max(plane.blur_px, 1.0), tint_sigma(plane.px_per_mm)))
        sharp = min(sharp, MOST_SOFT_TINT * EDGE_SIGMAS * sigma)
    found = pale_blobs(plane, con, taken, not card)
    found = [b for b in found if b.edge_mm * plane.px_per_mm < sharp and not _is_round(b)]
    pale = [_thing(b, plane.blur_px) for b in found if not _in_round(b, con, plane)]
    solid_dark = np.zeros(con.dark.shape, bool)
    for thing in dark:
        if thing.blob.depth > SURELY_DARK and (card or not thing.faults):
            _mark(solid_dark, thing.blob)
    sure = _marked(con, [t.blob for t in dark if t.blob.depth > SURELY_DARK and not t.faults])
    pale = [t for t in pale if _share_in(solid_dark, t.blob) < 0.2]
    pale = [t for t in pale if _median_in(con.depth, t.blob) < LEFT_DEPTH and (not card or _is_pale_animal(t, plane))]
    pale = [t for t in pale if not _lies_along(t.blob, sure, plane)]
    pale = [t for t in pale if card or (_is_tinted(t, con) and (not t.faults or _may_hide(t, dark)))]
    return [t for t in pale if not any(_is_part_of(t.blob, d) for d in dark)]


def _marked(con: Contrast, blobs: list[Blob]) -> Bools:
    """Return where in a plane blobs are."""
    out = np.zeros(con.dark.shape, bool)
    for blob in blobs:
        _mark(out, blob, blob.outline.solid)
    return out


def _on_it(blob: Blob, plane: Plane, con: Contrast) -> list[Thing]:
    """Return whole animals that lie on what is no animal: a stain, a shadow."""
    things = [_thing(b, plane.blur_px) for b in deeper_blobs(plane, con, blob) if _is_dark(b) and not _is_round(b)]
    things = [t for t in things if not t.faults and _is_animal(t, plane) and _is_sharp(t.blob, plane)]
    return [t for t in things if not _in_round(t.blob, con, plane)]


def _thing(blob: Blob, blur_px: float) -> Thing:
    """Return a blob with its shape as one animal; the core starts it, unless opening took too much."""
    whole = 2 * np.count_nonzero(blob.core) > np.count_nonzero(blob.outline.solid)
    start = start_of(blob.outline, 1, blob.core if whole else None)
    shape = refined_in(blob, start, blob.outline, blur_px)
    notch = sharpest(blob.core[held_in(blob.core, ROOM_PX)], blob.width_px)
    return Thing(blob, shape, notch, faults(shape, notch))


def _alike(things: list[Thing], arena: Bools, px_per_mm: float) -> list[Thing]:
    """Return things wholly in the arena, of about the size of the whole animals among them.

    Without a card there may be letters, labels and rims in the picture; only what is plainly of the size of
    whole animals is kept, and clumps only where there are whole animals to compare with.
    """
    least = LEAST_WITHOUT_CARD_MM * px_per_mm
    things = [t for t in things if t.shape is not None and t.shape.length > least]
    areas = [np.count_nonzero(t.blob.outline.solid) for t in things if not t.faults]
    usual = float(np.median(areas)) if len(areas) >= 3 else 0.0
    out = []
    for thing in things:
        area = float(np.count_nonzero(thing.blob.outline.solid))
        inside = not thing.blob.at_edge and _share_in(arena, thing.blob) > 0.97
        if inside and area > 0.2 * usual and (not thing.faults or _like_usual(thing, area, usual)):
            out.append(thing)
    return out


def _like_usual(thing: Thing, area: float, usual: float) -> bool:
    """Return whether a faulty thing has the size and form of the usual animals: only its picture is poor."""
    if usual == 0 or thing.shape is None or "notch" in thing.faults:
        return False
    return 0.5 * usual < area < 1.7 * usual and 2.4 < thing.shape.aspect < 5.5


def _median_in(picture: Patches, blob: Blob) -> float:
    """Return the median of a picture of the plane over a blob."""
    rows, cols = blob.outline.solid.shape
    return float(np.median(picture[blob.y : blob.y + rows, blob.x : blob.x + cols][blob.outline.solid]))


def _share_in(region: Bools, blob: Blob) -> float:
    """Return the share of a blob that lies in a region of the plane."""
    solid = blob.outline.solid
    part = region[blob.y : blob.y + solid.shape[0], blob.x : blob.x + solid.shape[1]]
    return float(np.count_nonzero(part & solid)) / max(float(np.count_nonzero(solid)), 1.0)


def _lies_along(blob: Blob, dark: Bools, plane: Plane) -> bool:
    """Return whether much of a thing's outline lies along dark things: their shade, or a stain beneath them."""
    solid = blob.outline.solid.astype(np.uint8)
    part = dark[blob.y : blob.y + solid.shape[0], blob.x : blob.x + solid.shape[1]]
    near = cv().dilate(part.astype(np.uint8), disc(NEAR_MM * plane.px_per_mm + plane.blur_px + 2)) > 0
    rim = solid > cv().erode(solid, RING)
    most = MOST_ALONG[1] if _is_sharp(blob, plane) else MOST_ALONG[0]
    return bool(np.count_nonzero(rim & near) > most * np.count_nonzero(rim))


def _is_leg(thing: Thing, kept: list[Thing]) -> bool:
    """Return whether a thing is thin and small beside a dark one: a leg, or two that cross."""
    blob = thing.blob
    area, width = np.count_nonzero(blob.outline.solid), thing.shape.width if thing.shape else blob.width_px
    for other in (t.blob for t in kept):
        large = np.count_nonzero(other.outline.solid) > LEG_AREA * area and width < LEG_WIDTH * other.width_px
        if large and _gap_px(blob, other) < 0.8 * other.width_px:
            return True
    return False


def _is_part_of(blob: Blob, dark: Thing) -> bool:
    """Return whether a pale thing is one animal of a darker clump, seen by its hue."""
    whole, own = dark.blob.outline.solid, blob.outline.solid
    if not dark.faults or np.count_nonzero(whole) < PART_OF * np.count_nonzero(own):
        return False
    top, left = max(dark.blob.y, blob.y), max(dark.blob.x, blob.x)
    a = whole[top - dark.blob.y :, left - dark.blob.x :]
    b = own[top - blob.y :, left - blob.x :]
    rows, cols = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    return bool(np.count_nonzero(a[:rows, :cols] & b[:rows, :cols]) > 0.5 * np.count_nonzero(own))


def _is_round(blob: Blob) -> bool:
    """Return whether a thing is plainly no animal before it is measured: a shell, drop or stain."""
    if blob.convexity <= 0.93:
        return False
    borders, _ = cv().findContours(blob.outline.solid.astype(np.uint8), cv().RETR_EXTERNAL, cv().CHAIN_APPROX_SIMPLE)
    _, (one, two), _ = cv().minAreaRect(np.concatenate(borders))
    short = max(one, two) + 1 < 2.0 * (min(one, two) + 1)
    closed = blob.hole_px < 0.08 * blob.width_px**2
    return bool(short and closed and not is_hollow(blob))


def _in_round(blob: Blob, con: Contrast, plane: Plane) -> bool:
    """Return whether a thing is only a part of something round: a whorl of a shell, a dark part of a stain.

    An animal may well lie on a stain, which has a soft edge; it is then sharper than that.
    """
    solid = blob.outline.solid
    rows, cols = solid.shape
    room = max(4, round(2 * blob.width_px))
    top, left = max(blob.y - room, 0), max(blob.x - room, 0)
    picture = con.tint[top : blob.y + rows + room, left : blob.x + cols + room]
    tint = picture > LEAST_TINT
    own = np.zeros(tint.shape, bool)
    y, x = blob.y - top, blob.x - left
    own[y : y + rows, x : x + cols] = solid
    _, labels = cv().connectedComponents(tint.astype(np.uint8))
    most = np.bincount(labels[own & tint], minlength=2)
    if not most.any():
        return False
    whole = (labels == int(np.argmax(most))).astype(np.uint8)
    contours, _ = cv().findContours(whole, cv().RETR_EXTERNAL, cv().CHAIN_APPROX_NONE)
    border = max(contours, key=len)
    area, hull = cv().contourArea(border), cv().contourArea(cv().convexHull(border))
    _, (one, two), _ = cv().minAreaRect(border)
    short = max(one, two) < 1.8 * min(one, two)
    round_ = short and area > 0.93 * hull and np.count_nonzero(whole) > 1.25 * np.count_nonzero(solid)
    if not round_ or not _is_sharp(blob, plane):
        return bool(round_)
    height = float(np.median(picture[whole > 0]))
    # Tint is smoothed: a sharp edge is as wide as that and the photo's blur make it.
    sigma = float(np.hypot(max(plane.blur_px, 1.0), tint_sigma(plane.px_per_mm)))
    return edge_width(steepness(picture), whole > 0, height) < MOST_SOFT * EDGE_SIGMAS * sigma + 2


def _is_dark(blob: Blob) -> bool:
    return blob.depth >= LEAST_DEPTH and blob.level >= LEAST_LEVEL


def _is_shade(blob: Blob, con: Contrast) -> bool:
    """Return whether a thing may be a shadow by its colour."""
    return blob.depth < LEFT_DEPTH and not _has_own_hue(blob, con)


def _is_tinted(thing: Thing, con: Contrast) -> bool:
    """Return whether a thing has a hue and is no sliver, as fringes of false colour at dark edges are."""
    slim = thing.shape is None or thing.shape.aspect > MOST_PALE_ASPECT
    return not slim and _has_own_hue(thing.blob, con)


def _has_own_hue(blob: Blob, con: Contrast) -> bool:
    """Return whether a pale thing is more than a shade, as rims and labels throw."""
    return float(np.median(blob.hues[blob.outline.solid])) > con.hue_usual + max(LEAST_HUE, 4 * con.hue_noise)


def _may_hide(thing: Thing, kept: list[Thing]) -> bool:
    """Return whether a faulty pale thing is of the usual size and has no notch."""
    areas = [np.count_nonzero(t.blob.outline.solid) for t in kept if not t.faults]
    usual = float(np.median(areas)) if len(areas) >= 3 else 0.0
    return _like_usual(thing, float(np.count_nonzero(thing.blob.outline.solid)), usual)


def _mark(taken: Bools, blob: Blob, mask: Bools | None = None) -> None:
    """Mark a mask of a blob, or its neighbourhood, in a picture of the plane."""
    solid = blob.outline.whole > 0.5 if mask is None else mask
    rows, cols = solid.shape
    taken[blob.y : blob.y + rows, blob.x : blob.x + cols] |= solid


def _is_scrap(thing: Thing, kept: list[Thing]) -> bool:
    """Return whether a thin small thing lies beside a much larger one: a leg that came off in the mask."""
    blob, shape = thing.blob, thing.shape
    if blob.hole_px > 0.3 * blob.width_px**2 or (not thing.faults and likeness(shape) > SURE_LIKENESS):
        return False
    area = np.count_nonzero(blob.outline.solid)
    for other in (t.blob for t in kept):
        if other is blob or np.count_nonzero(other.outline.solid) < 6 * area:
            continue
        thin = 0.35 if likeness(shape) < 0.5 and np.count_nonzero(other.outline.solid) > LEG_AREA * area else 0.16
        if blob.width_px < thin * other.width_px and _gap_px(blob, other) < 0.8 * other.width_px:
            return True
    return shape is None


def _gap_px(one: Blob, two: Blob) -> float:
    """Return roughly the distance between two blobs."""
    a = np.argwhere(one.outline.solid)[::5] + np.array([one.y, one.x])
    b = np.argwhere(two.outline.solid)[::23] + np.array([two.y, two.x])
    gaps = np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])
    return float(gaps.min())


def _is_animal(thing: Thing, plane: Plane) -> bool:
    """Return whether a dark thing may be an animal or several."""
    blob, shape = thing.blob, thing.shape
    if shape is None or shape.length < LEAST_LENGTH_MM * plane.px_per_mm:
        return False
    if blob.left_over and ((thing.faults and likeness(shape) < LEAST_LEFT) or not _is_sharp(blob, plane)):
        return False
    if blob.edge_mm > 1.2 + 0.05 * blob.width_px / plane.px_per_mm + 2.5 * plane.blur_px / plane.px_per_mm:
        return False
    if blob.hole_px > 0.08 * blob.width_px**2:
        return not blob.at_edge
    if shape.aspect < 2.3 and is_hollow(blob):
        return not blob.at_edge
    if shape.aspect < 2.3 and blob.convexity > 0.93 and "notch" not in thing.faults and blob.bare is None:
        return False
    faint = blob.depth < 0.42 and likeness(shape) < 0.4
    return not faint or _is_crisp(blob, plane) or is_hollow(blob)


def _is_crisp(blob: Blob, plane: Plane) -> bool:
    """Return whether a thing is about as sharp as the photo, and lies on bare ground: no stain, no shade."""
    return _is_sharp(blob, plane) and blob.level > BARE_LEVEL * blob.depth


def _is_sharp(blob: Blob, plane: Plane) -> bool:
    """Return whether the edge of a thing is about as sharp as the photo."""
    return blob.edge_mm < MOST_SOFT * EDGE_SIGMAS * max(plane.blur_px, 1.0) / plane.px_per_mm


def _is_pale_animal(thing: Thing, plane: Plane) -> bool:
    """Return whether a tinted thing is an animal: only one that looks like one in every way."""
    shape = thing.shape
    if shape is None or shape.length < 1.3 * LEAST_LENGTH_MM * plane.px_per_mm:
        return False
    wide = shape.width > 0.5 * plane.px_per_mm and shape.overlap > 0.88
    alone = thing.blob.bare is None and not thing.blob.at_edge
    return wide and alone and not thing.faults and 2.6 < shape.aspect < MOST_PALE_ASPECT
