"""Sub-pixel corners of a dark square: each side is a line through half-level crossings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Floats, Singles, median_of
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


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    """The four edges of a square: samples across them, (4 x along, across), their least and greatest, points, found."""

    profile: Floats
    dark: Floats
    light: Floats
    points: Floats
    ok: Bools


def _across(grey: Bytes, corners: Floats, reach: float, step: float) -> _Edges:
    """Return what is seen across the four sides of a square.

    The inside lies to the right of each side as seen (y down, clockwise), so the normal outwards is (dy, -dx).
    """
    way = np.roll(corners, -1, axis=0) - corners
    along = way / np.hypot(way[:, 0], way[:, 1])[:, None]
    normal = np.repeat(np.stack([along[:, 1], -along[:, 0]], axis=1), len(_ALONG), axis=0)
    offsets = np.arange(-reach, reach + step / 2, step)
    base = (corners[:, None] + _ALONG[:, None] * way[:, None]).reshape(-1, 2)
    x = base[:, :1] + offsets * normal[:, :1]
    y = base[:, 1:] + offsets * normal[:, 1:]
    profile = sample(grey, x, y)
    ranked = np.sort(profile, axis=1)
    tail = int(0.08 * ranked.shape[1])
    dark, light = ranked[:, tail], ranked[:, -1 - tail]
    at, ok = _first_crossing(profile, (dark + light) / 2)
    usual = np.median((light - dark).reshape(4, -1), axis=1)
    ok &= (light - dark > 0.4 * np.repeat(usual, len(_ALONG))) & (light - dark > 12)
    return _Edges(profile, dark, light, base + (offsets[0] + at * step)[:, None] * normal, ok)


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
        limit = max(0.25, 3 * 1.4826 * median_of(away[keep]))
        new = ok & (away < limit)
        if new.sum() < 6 or np.array_equal(new, keep):
            break
        keep = new
    return keep, centre, axis


def _blur(edges: _Edges, kept: list[Bools]) -> list[float]:
    """Return for each side the sigma of a blurred step, in samples: from its rise between a quarter and three."""
    share = (edges.profile - edges.dark[:, None]) / np.maximum(edges.light - edges.dark, 1)[:, None]
    low, high = (_first_crossing(share, np.full(len(share), level))[0] for level in (0.25, 0.75))
    spread = (high - low).reshape(4, -1)
    # A Gaussian step rises from 25 to 75 % within 1.349 sigma.
    return [median_of(spread[k][keep]) / 1.349 for k, keep in enumerate(kept)]


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
        step = max(0.25, reach / 40)
        edges = _across(grey, corners, reach, step)
        if edges.ok.reshape(4, -1).sum(axis=1).min() < 8:
            return rough, (np.inf, np.inf), 0.0
        lines = [_line(p, ok) for p, ok in zip(edges.points.reshape(4, -1, 2), edges.ok.reshape(4, -1), strict=True)]
        corners = np.array([_meet(lines[k - 1][1:], lines[k][1:]) for k in range(4)])
    blur = [step * sigma for sigma in _blur(edges, [line[0] for line in lines])]
    share = min(float(line[0].mean()) for line in lines)
    return corners, (max(blur[0], blur[2]), max(blur[1], blur[3])), share


def _meet(one: tuple[Floats, Floats], two: tuple[Floats, Floats]) -> Floats:
    """Return where two lines (point and direction) meet."""
    (p, a), (q, b) = one, two
    turn = float(a[0] * b[1] - a[1] * b[0])
    if abs(turn) < 1e-6:
        return q
    away = q - p
    return np.asarray(p + (away[0] * b[1] - away[1] * b[0]) / turn * a)
