"""Burnt-out spots that hide a part of an animal."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Bools
from boxside.core.measure.contrast import Contrast
from boxside.core.measure.ground import least_of
from boxside.core.measure.opencv import cv
from boxside.core.measure.rectify import Plane

LEAST_MM2 = 0.45
"""Smaller spots are highlights on drops or on the animal itself, and hide no end of it."""
LEAST_RIM = 0.18
NEAR_MM = 0.3
WHITE, MOST_WHITE, COMPACT = 250, 0.15, 0.88
"""Least of all channels in a white spot, the most of the picture that is so, and the spot's area over its hull's."""
FADE_FRAC = 0.35
DARK = 0.3


def has_glare(con: Contrast, plane: Plane) -> bool:
    """Return whether a large burnt-out spot borders on dark things with a good part of its rim.

    Notes
    -----
    On a ground that is burnt out itself no spot can be told; an animal then looks bitten or cut, not refused.
    """
    return any(_borders_on_dark(spots, con, plane) for spots in (con.glare, _white_spots(plane)))


def _white_spots(plane: Plane) -> Bools:
    """Return compact spots that are white through and through; none where much of the picture is."""
    white = cv().threshold(least_of(plane.rgb), WHITE - 1, 1, cv().THRESH_BINARY)[1]
    out = np.zeros(white.shape, bool)
    if not LEAST_MM2 * plane.px_per_mm**2 < np.count_nonzero(white) < MOST_WHITE * white.size:
        return out
    contours, _ = cv().findContours(white, cv().RETR_EXTERNAL, cv().CHAIN_APPROX_NONE)
    drawn = np.zeros(white.shape, np.uint8)
    for border in contours:
        area, hull = cv().contourArea(border), cv().contourArea(cv().convexHull(border))
        if area > max(LEAST_MM2 * plane.px_per_mm**2, COMPACT * hull):
            cv().drawContours(drawn, [border], -1, 1, cv().FILLED)
    return np.asarray(drawn > 0)


def _borders_on_dark(spots: Bools, con: Contrast, plane: Plane) -> bool:
    """Return whether one of the large spots borders on dark things."""
    if np.count_nonzero(spots) < LEAST_MM2 * plane.px_per_mm**2:
        return False
    _, labels, stats, _ = cv().connectedComponentsWithStats(spots.astype(np.uint8))
    dark = ((con.depth > DARK) & con.arena).astype(np.uint8)
    for k in range(1, len(stats)):
        x, y, w, h, area = (int(v) for v in stats[k])
        if area < LEAST_MM2 * plane.px_per_mm**2:
            continue
        # The larger the spot, the wider its faded edge.
        across = NEAR_MM * plane.px_per_mm + FADE_FRAC * float(np.sqrt(area / np.pi))
        reach = 2 * max(1, round(across)) + 1
        top, left = max(y - reach, 0), max(x - reach, 0)
        part = np.s_[top : y + h + reach, left : x + w + reach]
        spot = (labels[part] == k).astype(np.uint8)
        near = cv().dilate(dark[part], np.ones((reach, reach), np.uint8)) > 0
        rim = cv().dilate(spot, np.ones((3, 3), np.uint8)) > spot
        if np.count_nonzero(rim & near) > LEAST_RIM * np.count_nonzero(rim):
            return True
    return False
