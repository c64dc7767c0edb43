"""A whole photo: calibrated, rectified, searched, measured, counted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from boxside.core.measure.animals import bodies_of
from boxside.core.measure.arrays import Bytes, as_rgb
from boxside.core.measure.body import Place
from boxside.core.measure.calibrate import calibrate
from boxside.core.measure.card import Card
from boxside.core.measure.contrast import contrast
from boxside.core.measure.glare import has_glare
from boxside.core.measure.opencv import is_available
from boxside.core.measure.rectify import rectify
from boxside.core.measure.refusals import refuse
from boxside.core.measure.things import find_things
from boxside.core.values.body import Body, Calibration, Count, Refusal, Result, Scale

Progress = Callable[[str, float], bool]
"""Told what is being done and the share that is done; returns False to stop."""

MOST_COVER = 0.4
MOST_BODIES = 80
_NOTHING = Count(0, 0, 0)


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
    found = find_things(plane, con, cal.how == "card")
    cover = sum(int(np.count_nonzero(b.outline.solid)) for b in (t.blob for t in found)) / con.dark.size
    if cover > MOST_COVER or len(found) > MOST_BODIES:
        return _refused(refuse("overfull"), cal)
    if has_glare(con, plane):
        return _refused(refuse("glare"), cal)
    bodies: list[Body] = []
    for k, thing in enumerate(found):
        if not progress("bodies", 0.5 + 0.5 * k / len(found)):
            return _refused(refuse("cancelled"), cal)
        bodies += bodies_of(thing, Place(plane, cal, thing.blob.x, thing.blob.y), found)
    return Result(None, scale_of(cal), count_of(tuple(bodies)), tuple(bodies), cal)


def count_of(bodies: tuple[Body, ...]) -> Count:
    """Return how many animals bodies stand for."""
    return Count(sum(b.n_best for b in bodies), sum(b.n_low for b in bodies), sum(b.n_high for b in bodies))


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
