"""A whole photo: calibrated, rectified, searched, measured, counted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, as_rgb
from boxside.core.measure.body import Place, body_of, glare_hides, unmeasured
from boxside.core.measure.calibrate import calibrate
from boxside.core.measure.card import Card
from boxside.core.measure.contrast import Contrast, contrast
from boxside.core.measure.likeness import MOST_NOTCH_RAD, faults, likeness
from boxside.core.measure.notches import sharpest
from boxside.core.measure.opencv import cv, is_available
from boxside.core.measure.rectify import Plane, rectify
from boxside.core.measure.refusals import refuse
from boxside.core.measure.segment import Blob, dark_blobs, pale_blobs, without_legs
from boxside.core.measure.shape import Shape, fit_shape
from boxside.core.measure.split import split
from boxside.core.values.body import Body, BodyStatus, Calibration, Count, Flag, Refusal, Result, Scale

Progress = Callable[[str, float], bool]
"""Told what is being done and the share that is done; returns False to stop."""

LEAST_DEPTH = 0.3
LEAST_LEVEL = 0.1
LEAST_LENGTH_MM = 2.2
CLUMP_SHARE = 4.2
"""Area of one animal over its width squared, as elongate larvae have it: 0.85 of a length of five widths."""
MOST_COVER = 0.4
MOST_BODIES = 80
_NOTHING = Count(0, 0, 0)


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """One thing on the ground with its shape as a single animal, its sharpest notch, and what is wrong."""

    blob: Blob
    shape: Shape | None
    notch: float
    faults: tuple[str, ...]


def _carry_on(what: str, share: float) -> bool:
    del what, share
    return True


def _refused(reason: Refusal, cal: Calibration | None = None) -> Result:
    scale = None if cal is None else scale_of(cal)
    return Result(reason, scale, _NOTHING, (), cal)


def scale_of(cal: Calibration) -> Scale:
    """Return the scale that a calibration stands for."""
    return Scale(cal.mm_per_px, cal.mm_per_px * cal.scale_se_frac, cal.tilt_deg)


def measure_photo(
    rgb: object,
    card: Card | None = None,
    print_scale: float = 1.0,
    calibration: Calibration | None = None,
    progress: Progress = _carry_on,
) -> Result:
    """Return what a photo shows: scale, count, bodies with lengths and errors; or why it is refused.

    Parameters
    ----------
    rgb : (rows, cols, 3) uint8; grey, RGBA and 16-bit pictures are taken too
    card : the variant in use; None finds out
    print_scale : the printed check line as measured, over 50 mm
    calibration : a scale found before (by two taps, say); the card is then not looked for
    progress : told (what, share) between the steps; returns False to stop

    Notes
    -----
    Nothing is claimed about living larvae: they stretch and contract between two photos by more than any
    error given here. Bodies are dark or clearly tinted against an even ground, and lie flat.
    """
    if not is_available():
        return _refused(refuse("no_opencv"))
    picture = as_rgb(rgb)
    if isinstance(picture, Refusal):
        return _refused(picture)
    if not progress("card", 0.0):
        return _refused(refuse("cancelled"))
    cal = calibration if calibration is not None else calibrate(picture, card, print_scale)
    if isinstance(cal, Refusal):
        return _refused(cal)
    if not progress("plane", 0.2):
        return _refused(refuse("cancelled"), cal)
    return _searched(picture, cal, progress)


def _searched(picture: Bytes, cal: Calibration, progress: Progress) -> Result:
    """Return the result of a calibrated photo."""
    plane = rectify(picture, cal)
    con = contrast(plane)
    if not progress("bodies", 0.5):
        return _refused(refuse("cancelled"), cal)
    found = _things(plane, con, cal.how == "card")
    cover = sum(int(np.count_nonzero(b.outline.solid)) for b in (t.blob for t in found)) / con.dark.size
    if cover > MOST_COVER or len(found) > MOST_BODIES:
        return _refused(refuse("overfull"), cal)
    if any(glare_hides(t.blob) for t in found):
        return _refused(refuse("glare"), cal)
    bodies: list[Body] = []
    for k, thing in enumerate(found):
        if not progress("bodies", 0.5 + 0.5 * k / len(found)):
            return _refused(refuse("cancelled"), cal)
        bodies += _bodies_of(thing, Place(plane, cal, thing.blob.x, thing.blob.y), found)
    return Result(None, scale_of(cal), count_of(tuple(bodies)), tuple(bodies), cal)


def count_of(bodies: tuple[Body, ...]) -> Count:
    """Return how many animals bodies stand for."""
    return Count(sum(b.n_best for b in bodies), sum(b.n_low for b in bodies), sum(b.n_high for b in bodies))


def _things(plane: Plane, con: Contrast, card: bool) -> list[Thing]:
    """Return what may be animals, each with its shape as a single one; shells, stains, crumbs are left out."""
    dark = [_thing(b) for b in dark_blobs(plane, con, not card) if _is_dark(b)]
    kept = [t for t in dark if _is_animal(t, plane)]
    kept = [t for t in kept if not _is_scrap(t, kept)]
    taken = np.zeros(con.dark.shape, bool)
    for thing in kept:
        if not thing.faults:
            _mark(taken, thing.blob)
    pale = [_thing(b) for b in pale_blobs(plane, con, taken, not card)]
    pale = [t for t in pale if _is_pale_animal(t, plane)]
    for thing in pale:
        _mark(taken, thing.blob)
    # Dark parts of a pale animal were found before as things of their own.
    kept = [t for t in kept if not t.faults or _share_in(taken, t.blob) < 0.4]
    return kept + pale if card else _alike(kept + pale, con.arena)


def _thing(blob: Blob) -> Thing:
    shape = fit_shape(blob.outline)
    notch = sharpest(blob.outline.solid, blob.width_px)
    return Thing(blob, shape, notch, faults(shape, notch))


def _alike(things: list[Thing], arena: Bools) -> list[Thing]:
    """Return things wholly in the arena, of about the size of the whole animals among them.

    Without a card there may be letters, labels and rims in the picture; only what is plainly of the size of
    whole animals is kept, and clumps only where there are whole animals to compare with.
    """
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
    """Return whether a faulty thing may be one or several of the usual animals."""
    if usual == 0 or area < 0.5 * usual or thing.shape is None:
        return False
    return (thing.shape.aspect > 1.9 and area < 1.7 * usual) or thing.blob.convexity < 0.8


def _share_in(region: Bools, blob: Blob) -> float:
    """Return the share of a blob that lies in a region of the plane."""
    solid = blob.outline.solid
    part = region[blob.y : blob.y + solid.shape[0], blob.x : blob.x + solid.shape[1]]
    return float(np.count_nonzero(part & solid) / max(np.count_nonzero(solid), 1))


def _is_dark(blob: Blob) -> bool:
    return blob.depth >= LEAST_DEPTH and blob.level >= LEAST_LEVEL


def _mark(taken: Bools, blob: Blob) -> None:
    """Mark the neighbourhood of a blob in a picture of the plane."""
    solid = blob.outline.whole > 0.5
    rows, cols = solid.shape
    taken[blob.y : blob.y + rows, blob.x : blob.x + cols] |= solid


def _is_scrap(thing: Thing, kept: list[Thing]) -> bool:
    """Return whether a thin small thing lies beside a much larger one: a leg that came off in the mask."""
    blob, shape = thing.blob, thing.shape
    area = np.count_nonzero(blob.outline.solid)
    for other in (t.blob for t in kept):
        if other is blob or np.count_nonzero(other.outline.solid) < 6 * area:
            continue
        thin = 0.35 if likeness(shape) < 0.5 else 0.12
        if blob.width_px < thin * other.width_px and _gap_px(blob, other) < 0.8 * other.width_px:
            return True
    return shape is None


def _gap_px(one: Blob, two: Blob) -> float:
    """Return roughly the distance between two blobs."""
    a = np.argwhere(one.outline.solid)[::5] + [one.y, one.x]
    b = np.argwhere(two.outline.solid)[::23] + [two.y, two.x]
    gaps = np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])
    return float(gaps.min())


def _is_animal(thing: Thing, plane: Plane) -> bool:
    """Return whether a dark thing may be an animal or several."""
    blob, shape = thing.blob, thing.shape
    if shape is None or shape.length < LEAST_LENGTH_MM * plane.px_per_mm:
        return False
    if blob.edge_mm > 1.2 + 0.05 * blob.width_px / plane.px_per_mm + 2.5 * plane.blur_px / plane.px_per_mm:
        return False
    if blob.hole_px > 0.08 * blob.width_px**2:
        return not blob.at_edge
    if shape.aspect < 2.3 and blob.convexity > 0.9:
        return False
    return not (blob.depth < 0.42 and likeness(shape) < 0.4)


def _is_pale_animal(thing: Thing, plane: Plane) -> bool:
    """Return whether a tinted thing is an animal: only one that looks like one in every way."""
    blob, shape = thing.blob, thing.shape
    if shape is None or shape.length < 1.3 * LEAST_LENGTH_MM * plane.px_per_mm:
        return False
    sharp = blob.edge_mm < 0.45 + 2.5 * plane.blur_px / plane.px_per_mm
    wide = shape.width > 0.5 * plane.px_per_mm
    return sharp and wide and not thing.faults and 2.6 < shape.aspect < 8 and shape.overlap > 0.88


def _bodies_of(thing: Thing, place: Place, found: list[Thing]) -> list[Body]:
    """Return the body or bodies of one thing."""
    blob, shape, notch = thing.blob, thing.shape, thing.notch
    if shape is not None and not thing.faults:
        return [body_of(shape, blob.outline, place, blob)]
    if shape is not None and shape.aspect > 2.2:
        bare = without_legs(blob.outline, blob.width_px / 2)
        again = None if bare is None else fit_shape(bare)
        left = 0.0 if bare is None else sharpest(bare.solid, blob.width_px)
        if bare is not None and again is not None and not faults(again, left + 0.4) and again.waist > 0.88:
            return [body_of(again, bare, place, blob)]
    if _is_ring(blob):
        return [unmeasured(blob.ringed, place, (Flag.CLOSED, Flag.CURLED), (1, 1, 1))]
    if blob.hole_px > 0:
        open_shape = fit_shape(blob.ringed)
        if open_shape is not None and not faults(open_shape, sharpest(blob.ringed.solid, blob.width_px)):
            return [body_of(open_shape, blob.ringed, place, blob)]
    width = _usual_width(blob, found)
    parts, crossing = split(blob.ringed, shape, width)
    if len(parts) >= 2:
        return [body_of(p.shape, p.outline, place, blob, p.cut_px) for p in parts]
    chain = notch > MOST_NOTCH_RAD and shape is not None and (shape.aspect > 7.2 or shape.overlap < 0.82)
    if shape is not None and not crossing and not chain and _is_one(shape):
        one = body_of(shape, blob.outline, place, blob)
        flags = one.flags if Flag.SHAPE in one.flags else (*one.flags, Flag.SHAPE)
        return [replace(one, status=BodyStatus.DOUBTFUL, flags=flags, n_high=2)]
    return [_clump(blob, shape, place, crossing)]


def _is_one(shape: Shape) -> bool:
    """Return whether a faulty shape is still more likely one animal than several."""
    return shape.overlap > 0.75 and shape.waist > 0.7 and 2.8 < shape.aspect < 10


def _usual_width(blob: Blob, found: list[Thing]) -> float:
    """Return the width of animals in a blob: its own, unless single ones in the photo are much narrower."""
    single = [t.shape.width for t in found if t.shape is not None and not t.faults]
    return float(min(blob.width_px, 1.3 * np.median(single))) if len(single) >= 3 else blob.width_px


def _is_ring(blob: Blob) -> bool:
    """Return whether a blob encloses ground: an animal rolled up with its ends together."""
    if blob.hole_px < 0.08 * blob.width_px**2:
        return False
    filled = np.count_nonzero(blob.outline.solid)
    hull = filled / max(blob.convexity, 1e-3)
    spread = np.argwhere(blob.outline.solid).std(axis=0)
    return bool(filled / hull > 0.82 and max(spread) < 1.6 * min(spread))


def _ridge_width(mask: Bools) -> float:
    """Return the usual width of what a clump is made of: the median over the ridges of its distance map."""
    inside = cv().distanceTransform(np.pad(mask, 1).astype(np.uint8), cv().DIST_L2, 5)
    ridge = (inside >= cv().dilate(inside, np.ones((3, 3), np.uint8)) - 1e-3) & (inside > 0.45 * inside.max())
    return 2 * float(np.median(inside[ridge]))


def _clump(blob: Blob, shape: Shape | None, place: Place, crossing: bool) -> Body:
    """Return a clump with the range of animals that its area allows."""
    n = float(np.count_nonzero(blob.ringed.solid)) / (CLUMP_SHARE * _ridge_width(blob.ringed.solid) ** 2)
    best = 2 if crossing else max(2, round(n))
    low = 1 if shape is not None and not crossing and shape.overlap > 0.75 else 2
    high = max(best + 1, int(np.ceil(1.5 * n)))
    flags = (Flag.CLUMP, Flag.CROSSING) if crossing else (Flag.CLUMP,)
    return unmeasured(blob.ringed, place, flags, (low, best, high))


def with_body(result: Result, body: Body, replacing: int | None = None) -> Result:
    """Return a result with a body added, or put in the place of the one at an index.

    Raises
    ------
    IndexError
        Where there is no body at that index.
    """
    bodies = list(result.bodies)
    if replacing is None:
        bodies.append(body)
    else:
        bodies[replacing] = body
    return replace(result, bodies=tuple(bodies), count=count_of(tuple(bodies)))
