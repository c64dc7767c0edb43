"""Least squares with coefficients that cannot be negative."""

from __future__ import annotations

import numpy as np

from boxside.core.survival.tails import BoolArray, FloatArray


def nonnegative_solution(gram: FloatArray, target: FloatArray, tolerance: float = 1e-12) -> FloatArray:
    """Return x (k,) >= 0 that minimises |A x - b|^2, given A'A (k, k) and A'b (k,).

    Parameters
    ----------
    gram : A'A, symmetric and positive semi-definite
    target : A'b
    tolerance : a gradient below this share of the largest entry of `target` counts as zero

    Notes
    -----
    Works on the normal equations: accurate to about 1e-8 where columns are nearly alike, which is
    enough for a search direction.

    References
    ----------
    Lawson C.L., Hanson R.J. 1974, Solving least squares problems, chapter 23 (from memory); compared
    with scipy.optimize.nnls.
    """
    k = target.size
    x = np.zeros(k)
    active = np.zeros(k, dtype=np.bool_)
    slack = tolerance * max(1.0, float(np.abs(target).max()))
    for _ in range(3 * k + 10):
        gradient = target - gram @ x
        gradient[active] = -np.inf
        best = int(np.argmax(gradient))
        if gradient[best] <= slack:
            break
        active[best] = True
        x = _inner(gram, target, x, active)
    return x


def _inner(gram: FloatArray, target: FloatArray, x: FloatArray, active: BoolArray) -> FloatArray:
    """Solve on the active set, dropping what would turn negative; changes `active` in place."""
    while active.any():
        trial = np.zeros_like(x)
        trial[active] = np.linalg.lstsq(gram[np.ix_(active, active)], target[active], rcond=None)[0]
        bad = active & (trial <= 0.0)
        if not bad.any():
            return trial
        step = float((x[bad] / (x[bad] - trial[bad])).min())
        x = x + step * (trial - x)
        active &= ~(bad & (x <= 1e-15))
        x[~active] = 0.0
    return np.zeros_like(x)
