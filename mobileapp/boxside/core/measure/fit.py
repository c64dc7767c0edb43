"""Least squares of a card's corners: homography, one radial lens term, one edge offset.

The edge offset is how far the half-level edge of a black square lies outside its true edge, in pixels: blur
acts on light, while pictures are stored after a tone curve, and ink spreads. Animals' outlines are read at
the same half level, so they carry the same offset.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Floats, median_of
from boxside.core.measure.opencv import cv
from boxside.core.measure.plane import bend, project

RADIAL_PRIOR = 0.06
EDGE_PRIOR_PX = 0.4
STILL = 1e-8
"""Greatest change of a parameter at which the fit is taken to stand."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A fitted card: homography (mm to undistorted px), radial term, edge offset and residual, covariance."""

    matrix: Floats
    radial: float
    edge_px: float
    residual_px: float
    covariance: Floats
    errors_px: Floats


def _outwards(points_mm: Floats) -> Floats:
    """Return, for corners in groups of four, the signs by which each lies outside its square's middle."""
    squares = points_mm.reshape(-1, 4, 2)
    return np.asarray(np.sign(squares - squares.mean(axis=1, keepdims=True)).reshape(-1, 2))


def _model(p: Floats, points_mm: Floats, shift: Floats, centre: Floats, radius: float) -> Floats:
    """Return predicted pixels for parameters (8 of the homography about a unit scale, radial, edge mm)."""
    matrix = np.append(p[:8], 1.0).reshape(3, 3)
    return bend(project(matrix, points_mm + p[9] * shift), centre, radius, p[8])


def fit_card(points_mm: Floats, seen_px: Floats, centre: Floats, radius_px: float) -> Fit:
    """Return the fit of corners (n, 2) mm, in groups of four per marker, seen at (n, 2) px.

    Notes
    -----
    The radial term has a weak prior of zero +- 0.06 (at the photo's half diagonal), the edge offset of zero
    +- 0.4 px; sixteen corners of four squares tell both. The covariance is of the ten parameters.
    """
    middle, span = points_mm.mean(axis=0), float(np.ptp(points_mm, axis=0).max()) / 2
    unit = (points_mm - middle) / span
    pairs = [np.ascontiguousarray(a, np.float32) for a in (unit, seen_px)]
    start, _ = cv().findHomography(*pairs, 0)
    p = np.append((np.asarray(start, np.float64) / start[2, 2]).ravel()[:8], [0.0, 0.0])
    shift = _outwards(points_mm)
    px_per_unit = float(np.sqrt(abs(np.linalg.det(np.asarray(start)[:2, :2] / start[2, 2]))))
    noise = 0.05
    for _ in range(8):
        r, jac = _linear(p, unit, seen_px, shift, (centre, radius_px))
        away = np.hypot(*r.reshape(-1, 2).T)
        noise = float(np.clip(np.sqrt((r**2).sum() / (len(r) - 9)), 0.03, 3.0))
        limit = 2.5 * max(median_of(away), 0.03)
        weight = np.repeat(np.minimum(1.0, limit / np.maximum(away, 1e-9)), 2)
        prior = np.zeros(10)
        prior[8] = (noise / RADIAL_PRIOR) ** 2
        prior[9] = (noise * px_per_unit / EDGE_PRIOR_PX) ** 2
        normal = jac.T @ (jac * weight[:, None]) + np.diag(prior)
        step = np.linalg.lstsq(normal, jac.T @ (r * weight) - prior * p, rcond=None)[0]
        p = p + step
        if float(np.abs(step).max()) < STILL:
            break
    r, _ = _linear(p, unit, seen_px, shift, (centre, radius_px))
    to_unit = np.array([[1 / span, 0, -middle[0] / span], [0, 1 / span, -middle[1] / span], [0, 0, 1]])
    matrix = np.append(p[:8], 1.0).reshape(3, 3) @ to_unit
    errors = np.hypot(*r.reshape(-1, 2).T)
    covariance = np.linalg.pinv(normal) * noise**2
    residual = float(np.sqrt((errors**2).mean()))
    return Fit(matrix / matrix[2, 2], float(p[8]), float(p[9] * px_per_unit), residual, covariance, errors)


def _linear(p: Floats, unit: Floats, seen: Floats, shift: Floats, lens: tuple[Floats, float]) -> tuple[Floats, Floats]:
    """Return residuals and the Jacobian, both flattened over the points."""
    eps = 1e-6 * np.maximum(1.0, np.abs(p))
    # All eleven sets of parameters in one go: as they are, and with each a little changed.
    many = _models(np.concatenate([p[None], p + np.diag(eps)]), unit, shift, *lens)
    jac = ((many[1:] - many[0]) / eps[:, None, None]).reshape(10, -1).T
    return (seen - many[0]).ravel(), jac


def _models(p: Floats, points: Floats, shift: Floats, centre: Floats, radius: float) -> Floats:
    """Return predicted pixels (sets, n, 2) for sets of parameters (sets, 10), as `_model` does for one."""
    matrix = np.concatenate([p[:, :8], np.ones((len(p), 1))], axis=1).reshape(-1, 3, 3)
    onto = (points + p[:, 9, None, None] * shift) @ matrix[:, :, :2].transpose(0, 2, 1) + matrix[:, None, :, 2]
    d = onto[..., :2] / onto[..., 2:] - centre
    return np.asarray(centre + d * (1 + p[:, 8, None, None] * (d**2).sum(axis=-1, keepdims=True) / radius**2))


def scale_error(fit: Fit, points_mm: Floats, centre: Floats, radius_px: float) -> float:
    """Return the mean relative standard error of lengths across the card that the fit leaves."""
    middle, span = points_mm.mean(axis=0), float(np.ptp(points_mm, axis=0).max()) / 2
    at = np.array([[-0.4, 0], [0.4, 0], [0, -0.3], [0, 0.3], [-0.3, -0.3], [0.3, 0.3]])
    to_mm = np.array([[span, 0, middle[0]], [0, span, middle[1]], [0, 0, 1]])
    matrix = fit.matrix @ to_mm
    p = np.append((matrix / matrix[2, 2]).ravel()[:8], [fit.radial, 0.0])
    flat = np.zeros_like(at)

    def lengths(q: Floats) -> Floats:
        seen = _model(q, at, flat, centre, radius_px)
        return np.asarray(np.log(np.hypot(*(seen[1::2] - seen[::2]).T)))

    base = lengths(p)
    jac = np.empty((3, 10))
    for k in range(10):
        q = p.copy()
        q[k] += 1e-6 * max(1.0, abs(p[k]))
        jac[:, k] = (lengths(q) - base) / (q[k] - p[k])
    return float(np.sqrt(np.mean(np.diag(jac @ fit.covariance @ jac.T))))
