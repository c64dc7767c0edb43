"""A first midline of a mask: centroids of the rings of equal walking distance from one tip."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Floats
from boxside.core.measure.opencv import cv

SHRUNK_WIDTH_PX = 7.0
RING = np.ones((3, 3), np.uint8)
_MOST_STEPS = 600


def walk(mask: Bytes, seed: Bytes) -> Floats:
    """Return steps (octagonal) from a seed inside a mask, -1 where it is not reached.

    Parameters
    ----------
    mask, seed : (rows, cols) uint8 of 0 and 1
    """
    reached = cv().bitwise_and(seed, mask)
    plus = cv().getStructuringElement(cv().MORPH_CROSS, (3, 3))
    # Of 1 + sqrt 2 units of way, plain steps go 1 and 1/sqrt 2, square ones 1 and 1:
    # mixed they differ least.
    pattern = (plus, RING, plus, RING, plus, RING, RING)
    before, n = 0, cv().countNonZero(reached)
    # How often each pixel was among those reached: the earlier, the more often.
    times = np.zeros(mask.shape, np.uint16)
    k = 0
    while n > before and k <= _MOST_STEPS:
        times += reached
        reached = cv().bitwise_and(cv().dilate(reached, pattern[k % 7]), mask)
        before, n = n, cv().countNonZero(reached)
        k += 1
    return np.where(times > 0, k - times.astype(np.float64), -1.0)


def _farthest(steps: Floats) -> Bytes:
    """Return a seed at the pixel with most steps."""
    seed = np.zeros(steps.shape, np.uint8)
    seed[np.unravel_index(int(np.argmax(steps)), steps.shape)] = 1
    return seed


def rough_midline(solid: Bools, width_px: float) -> Floats:
    """Return (n, 2) points (x, y) from tip to tip, roughly in the middle.

    Parameters
    ----------
    solid : (rows, cols) bool, one animal without legs
    width_px : its greatest width
    """
    factor = min(1.0, SHRUNK_WIDTH_PX / max(width_px, 1e-6))
    small = solid.astype(np.uint8)
    if factor < 1:
        grey = cv().resize(small * 255, None, fx=factor, fy=factor, interpolation=cv().INTER_AREA)
        small = (grey > 110).astype(np.uint8)
    small = cv().copyMakeBorder(small, 1, 1, 1, 1, cv().BORDER_CONSTANT, value=0)
    inside = cv().distanceTransform(small, cv().DIST_L2, 3)
    first = walk(small, _farthest(np.asarray(inside, np.float64)))
    steps = walk(small, _farthest(first))
    points = _ring_centres(steps)
    fx, fy = (solid.shape[1] / (small.shape[1] - 2), solid.shape[0] / (small.shape[0] - 2))
    return np.asarray((points - 1 + 0.5) * np.array([fx, fy]) - 0.5)


def _ring_centres(steps: Floats) -> Floats:
    """Return the centroid of each ring of steps, two steps wide."""
    rows, cols = np.nonzero(steps >= 0)
    ring = (steps[rows, cols] // 2).astype(int)
    n = np.maximum(np.bincount(ring), 1)
    centres = np.stack([np.bincount(ring, cols) / n, np.bincount(ring, rows) / n], axis=1)
    tips = [np.array([cols[k], rows[k]], np.float64) for k in (np.argmin(ring), np.argmax(ring))]
    middle = centres[1:-1] if len(centres) > 3 else centres
    return np.concatenate([tips[:1], middle, tips[1:]])


def resample(points: Floats, n: int) -> Floats:
    """Return n points at equal distances along a polyline."""
    step, at = _along(points)
    known = points
    if step.min() <= 1e-9:
        keep = np.concatenate([[True], step > 1e-9])
        at, known = at[keep], points[keep]
    out = np.empty((n, 2))
    goal = _shares(n) * at[-1]
    for k in (0, 1):
        out[:, k] = np.interp(goal, at, known[:, k])
    return out


@lru_cache(maxsize=64)
def _shares(n: int) -> Floats:
    """Return n equal steps from 0 to 1; kept, since most lines have one of a few numbers of points."""
    found = np.linspace(0, 1, n)
    found.flags.writeable = False
    return found


def _along(points: Floats) -> tuple[Floats, Floats]:
    """Return the steps of a polyline, and how far each point lies along it."""
    way = points[1:] - points[:-1]
    step = np.hypot(way[:, 0], way[:, 1])
    at = np.zeros(len(points))
    np.cumsum(step, out=at[1:])
    return step, at


def length_of(points: Floats) -> float:
    """Return the length of a polyline."""
    way = points[1:] - points[:-1]
    return float(np.hypot(way[:, 0], way[:, 1]).sum())


def smooth(points: Floats, degree: int) -> Floats:
    """Return points on a polynomial of arc length fitted to a polyline (least squares)."""
    at = _along(points)[1]
    base = _legendre(2 * at / max(float(at[-1]), 1e-9) - 1, degree)
    # Legendre's polynomials are so nearly independent that the plain equations lose no digit that counts.
    return np.asarray(base @ np.linalg.solve(base.T @ base, base.T @ points))


def _legendre(u: Floats, degree: int) -> Floats:
    """Return Legendre's polynomials up to a degree at places in -1..1, one in each column (Bonnet's recursion)."""
    base = np.ones((degree + 1, len(u)))
    base[1:2] = u
    for k in range(2, degree + 1):
        base[k] = ((2 * k - 1) * u * base[k - 1] - (k - 1) * base[k - 2]) / k
    return base.T


def tangents(points: Floats) -> Floats:
    """Return unit tangents of a polyline at its points."""
    t = np.empty(points.shape)
    t[1:-1] = (points[2:] - points[:-2]) / 2
    t[0], t[-1] = points[1] - points[0], points[-1] - points[-2]
    return np.asarray(t / np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-9)[:, None])


def left_of(t: Floats) -> Floats:
    """Return tangents turned by a right angle, to the left as seen with y down."""
    out = np.empty(t.shape)
    out[:, 0] = t[:, 1]
    np.negative(t[:, 0], out=out[:, 1])
    return out


def normals(points: Floats) -> Floats:
    """Return unit normals of a polyline at its points, to the left as seen with y down."""
    return left_of(tangents(points))


def turns(t: Floats) -> Floats:
    """Return by how much each tangent is turned from the one before, in radians."""
    (ax, ay), (bx, by) = t[:-1].T, t[1:].T
    return np.asarray(np.arctan2(ax * by - ay * bx, ax * bx + ay * by))


def turning(points: Floats) -> float:
    """Return the whole turning of a polyline in radians, both ways counted."""
    return float(np.abs(turns(tangents(points))).sum())
