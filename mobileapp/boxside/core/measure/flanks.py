"""The sides of a body: on each flank the smooth line along which the picture falls off most steeply.

A threshold follows pale spots inwards and shadows outwards. A shadow's rim is softer than the body's, and a
spot's inner rim is no steeper and does not last: the steepest line that bends little is the body's own edge
(dynamic programming over edges, Montanari 1971).
"""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Floats, Singles
from boxside.core.measure.edges import sample
from boxside.core.measure.midline import tangents

OFFSETS = 64
NEAR, FAR = 0.4, 1.75
"""Where the edge is looked for, in half widths of the mask there."""
SOFT, SOFT_SHARE = 3.0, 0.5
MOST_STEP = 2
STEP_COST = 0.03
"""Cost of a step sideways over the reward of the usual edge."""


PRIOR, PRIOR_SPREAD = 0.6, 0.35
"""Cost, over the reward of the usual edge, of lying this share of the half width off the mask's outline."""
HUE_GAIN = 1.0
HUE_FROM, HUE_FULL = 10.0, 20.0
"""Widths in sigmas of blur from which hue is used: photos keep colour at half their resolution."""


def flank_signal(depth: Singles, hue: Singles, width_px: float, blur_px: float) -> Singles:
    """Return what the sides are found in: depth, and hue on wide bodies, which tells spots from shadow."""
    share = (width_px / max(blur_px, 0.3) - HUE_FROM) / (HUE_FULL - HUE_FROM)
    return depth + np.float32(HUE_GAIN * min(max(share, 0.0), 1.0)) * hue


def flanks(signal: Singles, line: Floats, half_px: Floats, blur_px: float) -> tuple[Floats, Floats]:
    """Return the half widths to the left and right of a midline's stations, px.

    Parameters
    ----------
    signal : how much each pixel stands out, (rows, cols) float32
    line : (n, 2) stations in the middle of the body
    half_px : (n,) about half the width of the body there; blur_px : sigma of the picture's blur
    """
    t = tangents(line)
    normal = np.stack([t[:, 1], -t[:, 0]], axis=1)
    share = np.linspace(NEAR, FAR, OFFSETS)
    r = np.tile(half_px, 2)[:, None] * share
    apart = 0.7 * max(blur_px, 1.0)
    steps = np.array([-SOFT * apart, -apart, apart, SOFT * apart])
    reach = np.concatenate([step + r for step in steps], axis=1)
    start, way = np.concatenate([line, line]), np.concatenate([normal, -normal])
    value = sample(signal, start[:, :1] + reach * way[:, :1], start[:, 1:] + reach * way[:, 1:])
    wide_in, near_in, near_out, wide_out = np.split(value, 4, axis=1)
    # A soft edge falls as much more over a longer way as that is longer: taken off, sharp ones are left.
    fall = np.maximum(near_in - near_out - SOFT_SHARE / SOFT * (wide_in - wide_out), 0.0)
    n = len(line)
    away = PRIOR * ((share - 1) / PRIOR_SPREAD) ** 2
    at = _steepest(np.stack([fall[:n], fall[n:]]), away)
    left, right = half_px * (NEAR + at * (share[1] - share[0]))
    return left, right


def _steepest(fall: Floats, away: Floats) -> Floats:
    """Return (2, n): for each station of both sides the offset, with a fraction, of the smooth line of greatest fall.

    Parameters
    ----------
    fall : (2, n, offsets)
    away : (offsets,) cost of lying far from the mask's outline, in shares of the usual edge
    """
    _, n, m = fall.shape
    usual = np.maximum(np.median(fall.max(axis=2), axis=1), 1e-6)
    reward = fall / usual[:, None, None] - away
    moves = np.arange(-MOST_STEP, MOST_STEP + 1)
    cost = STEP_COST * np.abs(moves)[:, None]
    index = np.clip(np.arange(m)[None] + moves[:, None], 0, m - 1)
    total, back = reward[:, 0], np.zeros((n, 2, m), np.intp)
    for k in range(1, n):
        before = total[:, index] - cost
        back[k] = before.argmax(axis=1)
        total = reward[:, k] + before.max(axis=1)
    at = np.empty((2, n), np.intp)
    for side in (0, 1):
        here = int(np.argmax(total[side]))
        at[side, -1] = here
        for k in range(n - 1, 0, -1):
            here = int(index[back[k, side, here], here])
            at[side, k - 1] = here
    return np.stack([at[side] + _peak(reward[side], at[side]) for side in (0, 1)])


def _peak(reward: Floats, at: np.ndarray) -> Floats:
    """Return the fraction of a step by which a parabola's peak lies beside each offset."""
    rows, last = np.arange(len(at)), reward.shape[1] - 1
    low, mid, high = (reward[rows, np.clip(at + d, 0, last)] for d in (-1, 0, 1))
    bend = low - 2 * mid + high
    shift = np.where(bend < -1e-9, (low - high) / (2 * np.minimum(bend, -1e-9)), 0.0)
    return np.asarray(np.clip(shift, -0.5, 0.5))
