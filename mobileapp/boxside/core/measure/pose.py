"""Where the camera stood: focal length, tilt and height from a card's homography."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Floats

USUAL_FOCAL = 0.75
"""Focal length over the photo's longer side: a phone's main camera (26 mm equivalent) has about this."""
_SPREAD = 0.25


def _pose(matrix: Floats, centre: Floats, focal: float) -> tuple[Floats, Floats, float]:
    """Return rotation columns (3, 2), translation, and how far the columns are from orthonormal."""
    back = np.array([[1 / focal, 0, -centre[0] / focal], [0, 1 / focal, -centre[1] / focal], [0, 0, 1]])
    m = back @ matrix
    size = np.sqrt(np.linalg.norm(m[:, 0]) * np.linalg.norm(m[:, 1]))
    m = m / size * (1 if m[2, 2] > 0 else -1)
    ratio = np.log(np.linalg.norm(m[:, 0]) / np.linalg.norm(m[:, 1]))
    return m[:, :2], m[:, 2], float(np.hypot(ratio, m[:, 0] @ m[:, 1]))


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
    cost = [
        (_pose(matrix, centre, f)[2] / noise_frac) ** 2 + (np.log(f / longer_px / USUAL_FOCAL) / _SPREAD) ** 2
        for f in grid
    ]
    focal = float(grid[int(np.argmin(cost))])
    axes, place, _ = _pose(matrix, centre, focal)
    u, _, v = np.linalg.svd(np.column_stack([axes, np.cross(axes[:, 0], axes[:, 1])]))
    rotation = u @ v
    eye = -rotation.T @ place
    tilt = float(np.degrees(np.arccos(np.clip(abs(rotation[2, 2]), 0, 1))))
    return tilt, focal, (float(eye[0]), float(eye[1]), float(abs(eye[2])))
