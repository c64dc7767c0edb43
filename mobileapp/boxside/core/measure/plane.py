"""From millimetres on the card to pixels of the photo and back."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Floats
from boxside.core.values.body import Calibration


def project(matrix: Floats, points_mm: Floats) -> Floats:
    """Return (n, 2) points under a 3 x 3 homography."""
    w = points_mm @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(w[:, :2] / w[:, 2:])


def bend(flat_px: Floats, centre: Floats, radius_px: float, radial: float) -> Floats:
    """Return where a lens with one radial term shows points of a photo without distortion."""
    d = flat_px - centre
    return np.asarray(centre + d * (1 + radial * (d**2).sum(axis=-1, keepdims=True) / radius_px**2))


def unbend(seen_px: Floats, centre: Floats, radius_px: float, radial: float) -> Floats:
    """Return the inverse of `bend`, by fixed-point steps (radial within +-0.3)."""
    d = seen_px - centre
    u = d.copy()
    for _ in range(12):
        u = d / (1 + radial * (u**2).sum(axis=-1, keepdims=True) / radius_px**2)
    return np.asarray(centre + u)


def matrix_of(cal: Calibration) -> Floats:
    """Return the homography of a calibration as (3, 3)."""
    return np.array(cal.homography, np.float64).reshape(3, 3)


def to_px(cal: Calibration, points_mm: Floats) -> Floats:
    """Return photo pixels of (n, 2) points on the card's plane."""
    flat = project(matrix_of(cal), np.asarray(points_mm, np.float64))
    return bend(flat, np.array(cal.centre_px), cal.radius_px, cal.radial)


def to_mm(cal: Calibration, points_px: Floats) -> Floats:
    """Return plane millimetres of (n, 2) photo pixels."""
    flat = unbend(np.asarray(points_px, np.float64), np.array(cal.centre_px), cal.radius_px, cal.radial)
    back = np.asarray(np.linalg.inv(matrix_of(cal)), np.float64)
    return project(back, flat)


def px_per_mm_at(matrix: Floats, point_mm: Floats) -> tuple[float, float]:
    """Return the largest and smallest local scale of a homography at a point."""
    step = 0.5
    ring = np.asarray(point_mm + np.array([[step, 0], [-step, 0], [0, step], [0, -step]]), np.float64)
    p = project(matrix, ring)
    local = np.stack([p[0] - p[1], p[2] - p[3]], axis=1) / (2 * step)
    big, small = np.linalg.svd(local, compute_uv=False)
    return float(big), float(small)
