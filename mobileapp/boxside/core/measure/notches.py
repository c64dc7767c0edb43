"""Where an outline turns inwards sharply: the notches at which touching animals meet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Floats
from boxside.core.measure.midline import resample
from boxside.core.measure.opencv import cv

LEAST_TURN = np.radians(38)


@dataclass(frozen=True, slots=True, eq=False)
class Notch:
    """A concave corner: where, how far it turns inwards (rad), and the way into the body."""

    at: Floats
    turn: float
    inwards: Floats


def outline_points(mask: Bools, step_px: float) -> Floats:
    """Return the largest outer outline as (n, 2) points at equal steps, not closed."""
    padded = np.pad(mask, 2).astype(np.float32)
    smooth = cv().GaussianBlur(padded, (0, 0), 1.0) > 0.5
    contours, _ = cv().findContours(smooth.astype(np.uint8), cv().RETR_EXTERNAL, cv().CHAIN_APPROX_NONE)
    if not contours:
        return np.zeros((0, 2))
    points = max(contours, key=len)[:, 0].astype(np.float64) - 2
    closed = np.concatenate([points, points[:1]])
    n = max(8, round(float(np.hypot(*np.diff(closed, axis=0).T).sum()) / step_px))
    return resample(closed, n + 1)[:-1]


def find_notches(mask: Bools, width_px: float) -> list[Notch]:
    """Return concave corners of a mask, the sharpest first, seen at a third of the animals' width."""
    step = max(1.0, width_px / 16)
    p = outline_points(mask, step)
    reach = max(3, round(0.35 * width_px / step))
    if len(p) < 4 * reach:
        return []
    back, ahead = np.roll(p, reach, axis=0) - p, np.roll(p, -reach, axis=0) - p
    # Clockwise as seen (y down) or not: the sign of the area says which turn is inwards.
    area = float(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - p[:, 1] * np.roll(p[:, 0], -1)))
    turn = np.arctan2(-back[:, 0] * ahead[:, 1] + back[:, 1] * ahead[:, 0], -(back * ahead).sum(axis=1)) * np.sign(area)
    inward = -turn
    out: list[Notch] = []
    for k in np.argsort(-inward):
        if inward[k] < LEAST_TURN or len(out) >= 8:
            break
        if all(np.hypot(*(p[k] - n.at)) > 0.4 * width_px for n in out):
            way = -(back[k] / max(np.hypot(*back[k]), 1e-9) + ahead[k] / max(np.hypot(*ahead[k]), 1e-9))
            out.append(Notch(p[k], float(inward[k]), way / max(np.hypot(*way), 1e-9)))
    return out


def sharpest(mask: Bools, width_px: float) -> float:
    """Return how far the sharpest notch of a mask turns, in radians; 0 where there is none."""
    found = find_notches(mask, width_px)
    return found[0].turn if found else 0.0
