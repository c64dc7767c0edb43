"""A scale without the card: two taps on the ends of a known length."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import as_rgb
from boxside.core.measure.refusals import refuse
from boxside.core.values.body import Calibration, Point, Refusal

TAP_PX_FRAC = 0.0035
"""How far a tap with a loupe lies off, over the photo's longer side; common practice, no source."""
PLANE_SE_FRAC = 0.02
"""What tilt, lens and height leave open where no card tells them; common practice, no source."""
LEAST_SPAN_PX = 30.0


def calibrate_known(rgb: object, p1: Point, p2: Point, mm: float) -> Calibration | Refusal:
    """Return the scale of a photo in which two points are a known distance apart.

    Parameters
    ----------
    rgb : the photo, (rows, cols, 3) uint8 or what `calibrate` takes
    p1, p2 : (x, y) in photo pixels
    mm : their distance

    Notes
    -----
    The camera is taken to look straight down, and the two points to lie as high as the animals: the relative
    standard error is 2 % and more, 3 to 6 % at 95 % for a span over most of the photo. Tap a
    long span, twice.
    Plane coordinates are then the photo's pixels times the scale, from its top-left corner.
    """
    picture = as_rgb(rgb)
    if isinstance(picture, Refusal):
        return picture
    rows, cols = picture.shape[:2]
    numbers = np.array([*p1, *p2, mm], np.float64)
    span = float(np.hypot(p2[0] - p1[0], p2[1] - p1[1])) if np.isfinite(numbers).all() else 0.0
    if span < LEAST_SPAN_PX or not mm > 0:
        return refuse("taps")
    scale = span / mm
    off = TAP_PX_FRAC * max(rows, cols) * np.sqrt(2) / span
    error = float(min(np.hypot(PLANE_SE_FRAC, off), 0.25))
    return Calibration(
        how="taps",
        card="",
        region_mm=(0.0, 0.0, cols / scale, rows / scale),
        homography=(scale, 0.0, -0.5, 0.0, scale, -0.5, 0.0, 0.0, 1.0),
        centre_px=((cols - 1) / 2, (rows - 1) / 2),
        radius_px=float(np.hypot(rows, cols) / 2),
        radial=0.0,
        photo_px=(rows, cols),
        mm_per_px=1 / scale,
        scale_se_frac=error,
        tilt_deg=None,
        camera_mm=None,
        residual_mm=0.0,
        blur_px=None,
    )
