"""From one thing to the animals it is: one, several told apart, or a clump with a count range."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxside.core.measure.arrays import Bools
from boxside.core.measure.body import CURLED_RAD, Place, body_of, unmeasured
from boxside.core.measure.cover import parted, sight_of
from boxside.core.measure.doubts import (
    THICK_SIGMAS,
    ends_in_shade,
    ends_in_stain,
    holds_shadow,
    may_be_two,
    miscut_or_next,
)
from boxside.core.measure.likeness import MOST_NOTCH_RAD, faults
from boxside.core.measure.notches import sharpest
from boxside.core.measure.opencv import cv
from boxside.core.measure.refine import refined_in
from boxside.core.measure.segment import Blob, for_cuts, is_hollow, without_legs
from boxside.core.measure.shape import Outline, Shape, fit_shape, start_of
from boxside.core.measure.split import Fit, Lump, Part, ridge_width, split
from boxside.core.measure.things import LEAST_DEPTH, LEAST_LENGTH_MM, Thing
from boxside.core.values.body import Body, BodyStatus, Flag

LITTER_AREA, LITTER_DEPTH = 0.15, 0.65
"""Area and depth, over those of the largest and darkest animal of a clump, below which a part of it is none."""
CLUMP_SHARE = 4.2
"""Area of one animal over its width squared, as elongate larvae have it: 0.85 of a length of five widths."""

CLEAR_BORDER, SURE_LIKENESS, SOME_NOTCH_RAD = 0.5, 0.9, 0.7
"""How clear borders are, how whole animals, and how sharp a notch, where what looks like one is taken for two."""
LEFT_CUT = 0.5
"""Length of the cut, in widths, that freed an animal from a darker one at its side."""
MOST_CUT_SHARE = 0.9
RATHER_TWO, RATHER_NOTCH_RAD = (1, 2, 3), 0.89
"""How many animals a thing is that has deep notches in its sides, one of them so sharp, and no sure border."""
PLAIN_OVERLAP, PLAIN_KINK = 0.95, 0.4
"""How well a strip that hardly bends explains a thing hardly darker than the ground, so that it is not doubted."""
MOST_STRAIGHT_KINK = 0.7
"""Sharpness of bending at which a midline that hardly bends elsewhere was led off by legs."""
TWO_TURN_RAD, TWO_FILL = 2.5, 0.775
"""Turning from which, and share of length times width up to which, a doubtful animal is rather two that meet."""
JOINT_KINK = 0.75
"""Sharpness of bending at which a body with a notch in its outline may be two that meet at their tips."""


def bodies_of(thing: Thing, place: Place, found: list[Thing]) -> list[Body]:
    """Return the body or bodies of one thing: one animal, a ring, several told apart, or a clump."""
    blob, shape = thing.blob, thing.shape
    if shape is not None and not thing.faults:
        return _without_faults(thing, shape, place, _usual_width(blob, found))
    bare = _bare(blob, shape)
    if bare is not None:
        return [_whole(bare[0], bare[1], place, blob)]
    if _is_ring(blob) and not _are_clearly_two(blob, place.plane.blur_px):
        return [unmeasured(blob.ringed, place, (Flag.CLOSED, Flag.CURLED), (1, 1, 1))]
    open_shape = fit_shape(blob.ringed) if blob.hole_px > 0 else None
    if open_shape is not None and not faults(open_shape, sharpest(blob.ringed.solid, blob.width_px)):
        return [_whole(blob.ringed, open_shape, place, blob)]
    return _told_apart(thing, place, _usual_width(blob, found))


def _without_faults(thing: Thing, shape: Shape, place: Place, width: float) -> list[Body]:
    """Return the body of what looks like one animal, or the bodies of two that only do so."""
    blob, blur_px = thing.blob, place.plane.blur_px
    pair = _hidden_pair(blob, blur_px) or (_seen_pair(blob, width, blur_px) if thing.notch > SOME_NOTCH_RAD else [])
    if pair:
        return _parts(pair, place, blob)
    two = may_be_two(shape, blob.outline)
    if two and thing.notch > RATHER_NOTCH_RAD and shape.turn_rad < CURLED_RAD:
        return [unmeasured(blob.outline, place, (Flag.CLUMP,), RATHER_TWO)]
    one = body_of(shape, blob.outline, place, blob, LEFT_CUT * shape.width if blob.left_over else 0.0)
    bent = blob.bare is not None or thing.notch > RATHER_NOTCH_RAD
    two = two or thing.company or shape.below_feret or (bent and shape.kink > JOINT_KINK)
    if two and _is_rather_two(shape):
        return [unmeasured(blob.outline, place, (Flag.CLUMP,), RATHER_TWO)]
    thick = shape.width > 2 * THICK_SIGMAS * max(blur_px, 1.0)
    led_off = thick and shape.turn_rad < CURLED_RAD and shape.kink > MOST_STRAIGHT_KINK
    seen = shape, blob.depths
    shade = not blob.pale and (shape.shaded or holds_shadow(*seen) or ends_in_shade(*seen, blur_px))
    shade = shade or ends_in_stain(shape, blob.hues, blur_px)
    plain = shape.overlap > PLAIN_OVERLAP and shape.kink < PLAIN_KINK
    faint = not blob.pale and blob.depth < LEAST_DEPTH and not plain
    return [_doubted(one, 2 if two else 1) if two or shade or faint or led_off else one]


def _seen_pair(blob: Blob, width: float, blur_px: float) -> list[Part]:
    """Return whole animals between which borders are seen, of a thing that looks like one."""
    parts, unsure = _cut_up(blob, width, blur_px)
    sure = not unsure and all(p.whole and not p.notched and p.like > SURE_LIKENESS for p in parts)
    return parts if len(parts) >= 2 and sure and min(p.border for p in parts) > CLEAR_BORDER else []


def _fit_in(blob: Blob, blur_px: float) -> Fit:
    """Return what fits a shape to an outline that was cut from a blob."""

    def fit(outline: Outline) -> Shape | None:
        return refined_in(blob, start_of(outline, 3), outline, blur_px, cut=True)

    return fit


def _whole(outline: Outline, fitted: Shape, place: Place, blob: Blob) -> Body:
    """Return the body of a blob seen by another outline than its own."""
    shape = refined_in(blob, start_of(outline, 3), outline, place.plane.blur_px) or fitted
    one = body_of(shape, outline, place, blob)
    return _doubted(one) if may_be_two(shape, outline) else one


def _parts(parts: list[Part], place: Place, blob: Blob) -> list[Body]:
    """Return the bodies of the parts of a blob; what is no whole animal, or still has a notch, gets no length."""
    out = []
    shortest = LEAST_LENGTH_MM * place.plane.px_per_mm
    for part, wrong in zip(parts, miscut_or_next(parts), strict=True):
        if _is_litter(part, parts, blob):
            continue
        if not part.whole or part.notched or part.shape.below_feret or part.shape.length < shortest:
            out.append(_unsure_part(part, place, part.shape.length < shortest))
            continue
        body = body_of(part.shape, part.outline, place, blob, part.cut_px)
        most = 2 if wrong and may_be_two(part.shape, part.outline) else 1
        out.append(replace(_doubted(body, most), n_low=0 if len(parts) > 1 else 1) if wrong else body)
    return out


def _unsure_part(part: Part, place: Place, short: bool) -> Body:
    """Return a part without a length: it may be an end of its neighbour, or more than one animal."""
    n = 1 if part.whole else max(1, round(_in_area(part.outline.solid)))
    n = 2 if part.notched and may_be_two(part.shape, part.outline) else n
    count = (0, 0, 1) if short else (0, n, n + 1)
    return unmeasured(part.outline, place, (Flag.CLUMP if n > 1 else Flag.SHAPE, Flag.TOUCHING), count)


def _is_litter(part: Part, parts: list[Part], blob: Blob) -> bool:
    """Return whether what is no whole animal is far smaller or lighter than those it hangs on: legs, stain, shade."""
    whole = [p for p in parts if p.whole]
    if part.whole or not whole:
        return False
    most = max(np.count_nonzero(p.outline.solid) for p in whole)
    dark = max(float(np.median(blob.depths[p.outline.solid])) for p in whole)
    small = bool(np.count_nonzero(part.outline.solid) < LITTER_AREA * most)
    return small or float(np.median(blob.depths[part.outline.solid])) < LITTER_DEPTH * dark


def _doubted(one: Body, most: int = 2) -> Body:
    """Return a body that may be cut wrongly, or that may be as many as `most`."""
    flags = one.flags if Flag.SHAPE in one.flags else (*one.flags, Flag.SHAPE)
    return replace(one, status=BodyStatus.DOUBTFUL, flags=flags, n_high=most)


def _hidden_pair(blob: Blob, blur_px: float) -> list[Part]:
    """Return the animals of a thing that looks like one only because the bay between them was filled.

    They meet in less than their width; a curled animal cut at a pale spot is cut in all of its width.
    """
    if blob.bare is None:
        return []
    sight = sight_of(blob.depths, blob.hues, blob.width_px, blur_px)
    parts, unsure = split(blob.bare, blob.width_px, _fit_in(blob, blur_px), sight)
    if unsure:
        return []
    narrow = all(p.cut_px < MOST_CUT_SHARE * min(q.shape.width for q in parts) for p in parts)
    whole = not any(p.notched or not p.whole for p in parts)
    return parts if len(parts) >= 2 and narrow and whole else []


def _are_clearly_two(blob: Blob, blur_px: float) -> bool:
    """Return whether a thing round about ground is cut, along borders that are seen, into whole animals."""
    sight = sight_of(blob.depths, blob.hues, blob.width_px, blur_px)
    parts, unsure = split(for_cuts(blob), blob.width_px, _fit_in(blob, blur_px), sight)
    whole = len(parts) >= 2 and not unsure and all(p.whole and not p.notched for p in parts)
    return whole and all(parted(sight, *cut) > CLEAR_BORDER for p in parts for cut in p.cuts)


def _bare(blob: Blob, shape: Shape | None) -> tuple[Outline, Shape] | None:
    """Return outline and shape of a faulty thing that is one animal once more of its legs is taken off."""
    if shape is None or shape.aspect < 2.2:
        return None
    outline = without_legs(blob.outline, blob.width_px / 2)
    again = None if outline is None else fit_shape(outline)
    if outline is None or again is None or again.waist < 0.88:
        return None
    # Opening blunts the notch between two animals, so that less of one is allowed.
    return None if faults(again, sharpest(outline.solid, blob.width_px) + 0.4) else (outline, again)


def _told_apart(thing: Thing, place: Place, width: float) -> list[Body]:
    """Return the animals that a faulty thing is cut into, or it as one doubtful animal, or as a clump."""
    blob, shape = thing.blob, thing.shape
    parts, unsure = _cut_up(blob, width, place.plane.blur_px)
    if shape is not None and len(unsure) == 1 and len(unsure[0].parts) == len(parts) and _is_near_one(shape):
        return [_doubted(body_of(shape, blob.outline, place, blob), len(parts))]
    if len(parts) >= 2:
        lumps = [lump for lump in unsure if sum(not _is_litter(parts[k], parts, blob) for k in lump.parts) > 1]
        lumped = {k for lump in lumps for k in lump.parts}
        apart = [p for k, p in enumerate(parts) if k not in lumped]
        return _parts(apart, place, blob) + [_crossed(lump, parts, place) for lump in lumps]
    if shape is not None and _is_one(shape, thing.notch):
        if _is_rather_two(shape):
            return [unmeasured(blob.ringed, place, (Flag.CLUMP,), RATHER_TWO)]
        one = body_of(shape, blob.outline, place, blob)
        return [one] if _only_legs(thing, shape) else [_doubted(one)]
    if shape is not None and _is_spoilt(thing, shape, place.plane.px_per_mm):
        return [unmeasured(blob.ringed, place, (Flag.SHAPE,), (1, 1, 2))]
    return [_clump(blob, shape, place)]


def _cut_up(blob: Blob, width: float, blur_px: float) -> tuple[list[Part], list[Lump]]:
    """Return the animals of a blob and which are not sure, seen at the usual width, or else at its own."""
    found: list[tuple[list[Part], list[Lump]]] = []
    for w in (width, blob.width_px) if blob.width_px > 1.25 * width else (width,):
        sight = sight_of(blob.depths, blob.hues, w, blur_px)
        parts, unsure = split(for_cuts(blob), w, _fit_in(blob, blur_px), sight)
        found.append((parts, unsure))
        if len(parts) >= 2 and not unsure and all(p.whole for p in parts):
            break
    return max(found, key=lambda f: (len(f[0]) >= 2 and not f[1], sum(p.whole for p in f[0]), -len(f[0])))


def _only_legs(thing: Thing, shape: Shape) -> bool:
    """Return whether nothing but a notch speaks against one animal, and its form against two: roots of legs.

    Two animals end to end are longer or have a waist or a kink; side by side they are broader.
    """
    return thing.faults == ("notch",) and shape.waist > 0.85 and shape.kink < 1.0 and 3.6 < shape.aspect < 6.4


def _is_spoilt(thing: Thing, shape: Shape, px_per_mm: float) -> bool:
    """Return whether a thing is one animal with a spoilt outline: too small for two, or without a notch."""
    if shape.feret < 2 * LEAST_LENGTH_MM * px_per_mm:
        return True
    return "notch" not in thing.faults and shape.aspect < 7.2


def _is_rather_two(shape: Shape) -> bool:
    """Return whether a doubtful shape turns as no animal does that leaves so much of its length and width empty."""
    return shape.turn_rad > TWO_TURN_RAD and shape.area < TWO_FILL * shape.length * shape.width


def _is_near_one(shape: Shape) -> bool:
    """Return whether a faulty shape is nearer to one animal than to parts without any border between them."""
    return shape.overlap > 0.87 and shape.waist > 0.75 and 2.8 < shape.aspect < 9.5


def _is_one(shape: Shape, notch: float) -> bool:
    """Return whether a faulty shape is still more likely one animal than several."""
    if shape.overlap > 0.93 and shape.waist > 0.9 and shape.aspect < 9:
        return True
    if notch > MOST_NOTCH_RAD and (shape.aspect > 7.2 or shape.overlap < 0.82):
        return False
    return shape.overlap > 0.75 and shape.waist > 0.7 and 2.8 < shape.aspect < 10


def _usual_width(blob: Blob, found: list[Thing]) -> float:
    """Return the width of animals in a blob: its own, unless single ones in the photo are much narrower."""
    single = [t.shape.width for t in found if t.shape is not None and not t.faults]
    return float(min(blob.width_px, 1.3 * np.median(single))) if len(single) >= 3 else blob.width_px


def _is_ring(blob: Blob) -> bool:
    """Return whether a thing is round about ground that it (nearly) encloses: an animal rolled up."""
    half = blob.width_px / 2
    solid = np.pad(blob.ringed.solid, 16).astype(np.uint8)
    side = 2 * max(1, round(min(0.6 * half, 14))) + 1
    disc = cv().getStructuringElement(cv().MORPH_ELLIPSE, (side, side))
    closed = cv().morphologyEx(solid, cv().MORPH_CLOSE, disc)
    contours, _ = cv().findContours(closed, cv().RETR_EXTERNAL, cv().CHAIN_APPROX_NONE)
    border = max(contours, key=len)
    filled = float(cv().contourArea(border)) + 0.5 * len(border)
    hull = float(cv().contourArea(cv().convexHull(border))) + 0.5 * len(border)
    enclosed = filled - float(solid.sum())
    spread = np.sqrt(np.linalg.eigvalsh(np.cov(np.argwhere(closed > 0).T)))
    round_ = filled > 0.85 * hull and spread.max() < 1.5 * spread.min()
    return bool(round_ and (enclosed > 0.1 * blob.width_px**2 or is_hollow(blob)))


def _crossed(lump: Lump, parts: list[Part], place: Place) -> Body:
    """Return parts that lie across each other, or so that no border is sure, as a clump."""
    n, own = lump.animals, [parts[k] for k in lump.parts]
    solid = np.any([p.outline.solid for p in own], axis=0).astype(np.uint8)
    closed = cv().morphologyEx(solid, cv().MORPH_CLOSE, np.ones((5, 5), np.uint8)) > 0
    outline = Outline(own[0].outline.soft, own[0].outline.whole, np.asarray(closed))
    return unmeasured(outline, place, (Flag.CLUMP, Flag.CROSSING), (max(2, n - 1), n, max(len(own), n) + 1))


def _in_area(solid: Bools) -> float:
    """Return how many animals of the usual form have the area of a mask."""
    return float(np.count_nonzero(solid)) / (CLUMP_SHARE * ridge_width(solid) ** 2)


def _clump(blob: Blob, shape: Shape | None, place: Place) -> Body:
    """Return a clump with the range of animals that its area allows."""
    n = _in_area(blob.ringed.solid)
    best = max(2, round(n))
    low = 1 if shape is not None and shape.overlap > 0.75 else 2
    high = max(best + 1, int(np.ceil(1.5 * n)))
    if blob.left_over:
        # It may as well be a part of the darker thing at its side.
        low, best, high = 0, 1, 2
    return unmeasured(blob.ringed, place, (Flag.CLUMP,), (low, best, high))
