"""Where the camera stood: focal length, tilt and height from a card's homography."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Floats

USUAL_FOCAL = 0.75
"""Focal length over the photo's longer side: a phone's main camera (26 mm equivalent) has about this."""
_SPREAD = 0.25


def _skew(matrix: Floats, centre: Floats, focal: Floats) -> Floats:
    """Return, for each focal length, how far the card's two axes would be from square and equally long."""
    flat = (matrix[:2, :2] - centre[:, None] * matrix[2, :2]) / focal[:, None, None]
    one, two = (np.concatenate([flat[:, :, k], np.full((len(focal), 1), matrix[2, k])], axis=1) for k in (0, 1))
    long, wide = np.linalg.norm(one, axis=1), np.linalg.norm(two, axis=1)
    return np.asarray(np.hypot(np.log(long / wide), (one * two).sum(axis=1) / (long * wide)))


def _pose(matrix: Floats, centre: Floats, focal: float) -> tuple[Floats, Floats]:
    """Return rotation columns (3, 2) and translation."""
    back = np.array([[1 / focal, 0, -centre[0] / focal], [0, 1 / focal, -centre[1] / focal], [0, 0, 1]])
    m = back @ matrix
    size = np.sqrt(np.linalg.norm(m[:, 0]) * np.linalg.norm(m[:, 1]))
    m = m / size * (1 if m[2, 2] > 0 else -1)
    return m[:, :2], m[:, 2]


def camera_pose(
    matrix: Floats, centre: Floats, longer_px: float, noise_frac: float
) -> tuple[float, float, tuple[float, float, float]]:
    """Return (tilt in degrees, focal length in px, lens position in plane mm) of an undistorted homography.

    Notes
    -----
    A square-on photo says nothing of the focal length; the usual one of a phone is then taken, within 25 %.
    Square pixels and a principal point at the photo's middle are assumed, so a cropped photo misleads.
    """
    grid = longer_px * USUAL_FOCAL * np.exp(np.linspace(-1.0, 1.4, 49))
    cost = (_skew(matrix, centre, grid) / noise_frac) ** 2 + (np.log(grid / longer_px / USUAL_FOCAL) / _SPREAD) ** 2
    focal = float(grid[int(np.argmin(cost))])
    axes, place = _pose(matrix, centre, focal)
    u, _, v = np.linalg.svd(np.column_stack([axes, np.cross(axes[:, 0], axes[:, 1])]))
    rotation = u @ v
    eye = -rotation.T @ place
    tilt = float(np.degrees(np.arccos(np.clip(abs(rotation[2, 2]), 0, 1))))
    return tilt, focal, (float(eye[0]), float(eye[1]), float(abs(eye[2])))
