"""Burnt-out spots that hide a part of an animal."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.contrast import Contrast
from boxside.core.measure.opencv import cv
from boxside.core.measure.rectify import Plane

LEAST_MM2 = 0.45
"""Smaller spots are highlights on drops or on the animal itself, and hide no end of it."""
LEAST_RIM = 0.18
NEAR_MM = 0.3
FADE_FRAC = 0.35
DARK = 0.3


def has_glare(con: Contrast, plane: Plane) -> bool:
    """Return whether a large burnt-out spot borders on dark things with a good part of its rim.

    Notes
    -----
    On a ground that is burnt out itself no spot can be told; an animal then looks bitten or cut, not refused.
    """
    if np.count_nonzero(con.glare) < LEAST_MM2 * plane.px_per_mm**2:
        return False
    _, labels, stats, _ = cv().connectedComponentsWithStats(con.glare.astype(np.uint8))
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
