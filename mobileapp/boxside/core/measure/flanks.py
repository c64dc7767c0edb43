"""The sides of a body: on each flank the smooth line along which the picture falls off most steeply.

A threshold follows pale spots inwards and shadows outwards. A shadow's rim is softer than the body's, and a
spot's inner rim is no steeper and does not last: the steepest line that bends little is the body's own edge
(dynamic programming over edges, Montanari 1971).
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from boxside.core.measure.arrays import Floats, Singles, median_of
from boxside.core.measure.edges import sample
from boxside.core.measure.midline import normals

OFFSETS = 64
NEAR, FAR = 0.4, 1.75
"""Where the edge is looked for, in half widths of the mask there."""
SOFT, SOFT_SHARE = 3.0, 0.5
STEP_COST = 0.03
"""Cost of a step sideways over the reward of the usual edge; there are two at most from station to station."""
_COST = STEP_COST * np.abs(np.arange(-2, 3.0))[:, None, None]
_MOVES = ((-1, STEP_COST), (1, STEP_COST), (-2, 2 * STEP_COST), (2, 2 * STEP_COST))
Indices = NDArray[np.intp]
PRIOR, PRIOR_SPREAD = 0.6, 0.35
"""Cost, over the reward of the usual edge, of lying this share of the half width off the mask's outline."""
_SHARE = np.linspace(NEAR, FAR, OFFSETS)
_AWAY = PRIOR * ((_SHARE - 1) / PRIOR_SPREAD) ** 2
_INNER = np.linspace(0.25, 1.25, 60)
INNER_TO, OUTER_FROM = 0.85, 0.85
"""Where an edge farther in is looked for, and the edge itself, in half widths."""
STEADY_PERCENTILE = 30
WEAK_EDGE, INNER_SHARE, LEAST_INNER, ONE_SIDED = 0.55, 0.8, 0.35, 0.45
"""Strength of a shadow's edge over the other side's, of the body's own over the shadow's and over the other side's,
and of an edge over the other side's below which it is doubted."""
LEAST_LIGHT = 0.3
"""Share of the ground's light below which a place is no darker to any purpose."""
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
    fall, _ = _falls(signal, line, np.concatenate([half_px, half_px])[:, None] * _SHARE, blur_px)
    at = _steepest(fall.reshape(2, len(line), OFFSETS), _AWAY)
    left, right = half_px * (NEAR + at * (_SHARE[1] - _SHARE[0]))
    return left, right


def _falls(signal: Singles, line: Floats, r: Floats, blur_px: float) -> tuple[Floats, Floats]:
    """Return how much a picture falls at distances (2 n, m) left and right of stations, and how dark it is beyond."""
    m = r.shape[1]
    normal = normals(line)
    apart = 0.7 * max(blur_px, 1.0)
    reach = np.concatenate([r + step for step in (-SOFT * apart, -apart, apart, SOFT * apart)], axis=1)
    start, way = np.concatenate([line, line]), np.concatenate([normal, -normal])
    value = sample(signal, start[:, :1] + reach * way[:, :1], start[:, 1:] + reach * way[:, 1:])
    wide_in, near_in, near_out, wide_out = (value[:, k * m : (k + 1) * m] for k in range(4))
    # A soft edge falls as much more over a longer way as that is longer: taken off, sharp ones are left.
    return np.maximum(near_in - near_out - SOFT_SHARE / SOFT * (wide_in - wide_out), 0.0), near_out


def out_of_shade(
    depth: Singles, line: Floats, sides: tuple[Floats, Floats], blur_px: float
) -> tuple[tuple[Floats, Floats] | None, bool]:
    """Return both half widths (px) without a shadow taken in on one side, None where none was, and if one may be.

    Counted in the light there is outside, more is lost from body to shadow than from shadow to ground: a side
    whose edge is far weaker than the other side's, and than one farther in, is the shadow's.

    Parameters
    ----------
    depth : how dark each pixel is, (rows, cols) float32, 1 is black
    line, sides : stations in the middle, and the half widths left and right that were found there
    """
    n = len(line)
    r = np.concatenate(sides)[:, None] * _INNER
    fall, out = _falls(depth, line, r, blur_px)
    relative = (fall / np.minimum(np.maximum(1 - out, LEAST_LIGHT), 1.0)).reshape(2, n, len(_INNER))
    edge = [median_of(side[:, _INNER > OUTER_FROM].max(axis=1)) for side in relative]
    if min(edge) >= WEAK_EDGE * max(edge):
        return None, False
    inside = relative[:, :, _INNER < INNER_TO]
    at = _steepest(inside, np.zeros(inside.shape[2]))
    found = [sides[k] * (_INNER[0] + at[k] * (_INNER[1] - _INNER[0])) for k in (0, 1)]
    nearest = np.minimum(np.round(at).astype(int), inside.shape[2] - 1)
    # Pale spots have such an edge too, but not between them.
    inner = [float(np.percentile(inside[k, np.arange(n), nearest[k]], STEADY_PERCENTILE)) for k in (0, 1)]
    for k in (0, 1):
        weak = edge[k] < WEAK_EDGE * edge[1 - k]
        if weak and inner[k] > INNER_SHARE * edge[k] and inner[k] > LEAST_INNER * edge[1 - k]:
            return ((found[0], sides[1]) if k == 0 else (sides[0], found[1])), False
    return None, min(edge) < ONE_SIDED * max(edge)


def _steepest(fall: Floats, away: Floats) -> Floats:
    """Return (2, n): for each station of both sides the offset, with a fraction, of the smooth line of greatest fall.

    Parameters
    ----------
    fall : (2, n, offsets)
    away : (offsets,) cost of lying far from the mask's outline, in shares of the usual edge
    """
    _, n, m = fall.shape
    usual = np.array([max(median_of(side), 1e-6) for side in fall.max(axis=2)])
    reward = fall / usual[:, None, None] - away
    # Two offsets more on either side, which no line goes through.
    total = np.full((n, 2, m + 4), -np.inf)
    total[:, :, 2:-2] = reward.transpose(1, 0, 2)
    # For each station five views of its totals so far, from two offsets lower to two higher.
    around = np.moveaxis(sliding_window_view(total, m, axis=2), 2, 1)
    stepped, best = np.empty((5, 2, m)), np.empty((2, m))
    for k in range(1, n):
        np.subtract(around[k - 1], _COST, out=stepped)
        np.maximum.reduce(stepped, axis=0, out=best)
        total[k, :, 2:-2] += best
    at = np.stack([_traced(total[:, side]) for side in (0, 1)])
    return at + _peak(reward.reshape(2 * n, m), at.ravel()).reshape(2, n)


def _traced(total: Floats) -> Indices:
    """Return the offset of each station on the best line that ends at the last one, from the totals so far."""
    here = int(np.argmax(total[-1]))
    at = [here]
    rows = total[-2::-1].tolist()
    for row in rows:
        # Staying before stepping, to the lower offset before the higher: where two are equal, any will do.
        best, most = here, row[here]
        for step, cost in _MOVES:
            value = row[here + step] - cost
            if value > most:
                best, most = here + step, value
        here = best
        at.append(here)
    return np.array(at[::-1], np.intp) - 2


def _peak(reward: Floats, at: Indices) -> Floats:
    """Return the fraction of a step by which a parabola's peak lies beside each offset."""
    rows, last = np.arange(len(at)), reward.shape[1] - 1
    low, mid, high = (reward[rows, np.minimum(np.maximum(at + d, 0), last)] for d in (-1, 0, 1))
    bend = low - 2 * mid + high
    shift = np.where(bend < -1e-9, (low - high) / (2 * np.minimum(bend, -1e-9)), 0.0)
    return np.asarray(np.minimum(np.maximum(shift, -0.5), 0.5))
