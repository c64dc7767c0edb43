"""Sub-pixel corners of a dark square: each side is a line through half-level crossings."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Floats, Singles
from boxside.core.measure.opencv import cv

_ALONG = np.linspace(0.1, 0.9, 33)


def sample(picture: Bytes | Singles, x: Floats, y: Floats) -> Floats:
    """Return the picture at real pixel positions (two-dimensional arrays), linearly between pixels."""
    cut = cv().remap(
        picture,
        np.ascontiguousarray(x, np.float32),
        np.ascontiguousarray(y, np.float32),
        cv().INTER_LINEAR,
        borderMode=cv().BORDER_REPLICATE,
    )
    return np.asarray(cut, np.float64)


def _first_crossing(profile: Floats, level: Floats) -> tuple[Floats, Bools]:
    """Return where each row first rises through its level, in steps, and whether it does."""
    above = profile >= level[:, None]
    at = np.argmax(above, axis=1)
    ok = above.any(axis=1) & (at > 0)
    rows = np.arange(len(profile))
    before = profile[rows, np.maximum(at - 1, 0)]
    after = profile[rows, at]
    gap = np.where(after > before, after - before, 1.0)
    return np.asarray(at - 1 + (level - before) / gap), ok


def _side(grey: Bytes, a: Floats, b: Floats, reach: float) -> tuple[Floats, Floats, float, float]:
    """Return (point, direction, blur sigma px, share of good samples) of the edge near a-b.

    The inside of the square lies to the right of a-b as seen (y down, clockwise), so the normal outwards is
    (dy, -dx).
    """
    along = (b - a) / np.hypot(*(b - a))
    normal = np.array([along[1], -along[0]])
    step = max(0.25, reach / 40)
    offsets = np.arange(-reach, reach + step / 2, step)
    base = a[None] + _ALONG[:, None] * (b - a)[None]
    x = base[:, 0, None] + offsets[None] * normal[0]
    y = base[:, 1, None] + offsets[None] * normal[1]
    profile = sample(grey, x, y)
    ranked = np.sort(profile, axis=1)
    tail = int(0.08 * ranked.shape[1])
    dark, light = ranked[:, tail], ranked[:, -1 - tail]
    at, ok = _first_crossing(profile, (dark + light) / 2)
    ok &= (light - dark) > 0.4 * np.median(light - dark)
    ok &= light - dark > 12
    if ok.sum() < 8:
        return a, along, np.inf, 0.0
    points = base + (offsets[0] + at * step)[:, None] * normal[None]
    keep, centre, axis = _line(points, ok)
    spread = _blur(profile[keep], dark[keep], light[keep]) * step
    return centre, axis, spread, float(keep.mean())


def _line(points: Floats, ok: Bools) -> tuple[Bools, Floats, Floats]:
    """Return which points lie on the line through most of them, its centre and direction."""
    keep = ok
    for _ in range(4):
        centre = points[keep].mean(axis=0)
        x, y = (points[keep] - centre).T
        # The axis of least squares: half the angle of (sum x x - sum y y, 2 sum x y).
        angle = 0.5 * np.arctan2(2 * (x @ y), x @ x - y @ y)
        axis = np.array([np.cos(angle), np.sin(angle)])
        away = np.abs((points - centre) @ np.array([-axis[1], axis[0]]))
        limit = max(0.25, 3 * 1.4826 * float(np.median(away[keep])))
        new = ok & (away < limit)
        if new.sum() < 6 or np.array_equal(new, keep):
            break
        keep = new
    return keep, centre, axis


def _blur(profile: Floats, dark: Floats, light: Floats) -> float:
    """Return the sigma of a blurred step, in samples: half the distance from 16 to 84 % of its height."""
    share = (profile - dark[:, None]) / np.maximum(light - dark, 1)[:, None]
    mid = np.asarray(_first_crossing(share, np.full(len(share), 0.5))[0])
    low = np.asarray(_first_crossing(share, np.full(len(share), 0.25))[0])
    high = np.asarray(_first_crossing(share, np.full(len(share), 0.75))[0])
    spread = (high - low)[np.isfinite(mid)]
    # A Gaussian step rises from 25 to 75 % within 1.349 sigma.
    return float(np.median(spread)) / 1.349


def refine_corners(grey: Bytes, rough: Floats, cells: int) -> tuple[Floats, tuple[float, float], float]:
    """Return the corners of a dark square to a few hundredths of a pixel.

    Parameters
    ----------
    grey : (rows, cols) uint8
    rough : (4, 2) corners in px, clockwise as seen
    cells : cells along a side; edges are searched within 0.45 of a cell

    Returns
    -------
    corners (4, 2), blur sigma in px of both edge pairs, least share of good edge samples of a side
    """
    corners = rough
    for _ in range(2):
        side = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
        reach = float(np.clip(0.45 * side.min() / cells, 2.0, 40.0))
        lines = [_side(grey, corners[k], corners[(k + 1) % 4], reach) for k in range(4)]
        share = min(line[3] for line in lines)
        if share <= 0:
            return rough, (np.inf, np.inf), 0.0
        corners = np.array([_meet(lines[k - 1], lines[k]) for k in range(4)])
    blur = [line[2] for line in lines]
    return corners, (max(blur[0], blur[2]), max(blur[1], blur[3])), share


def _meet(one: tuple[Floats, Floats, float, float], two: tuple[Floats, Floats, float, float]) -> Floats:
    """Return where two lines meet."""
    system = np.stack([one[1], -two[1]], axis=1)
    if abs(np.linalg.det(system)) < 1e-6:
        return two[0]
    t = np.linalg.solve(system, two[0] - one[0])
    return np.asarray(one[0] + t[0] * one[1])
