"""Student's t for whole degrees of freedom, and intervals for means from it."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from boxside.core.values.estimates import Interval

FloatArray = npt.NDArray[np.float64]


def t_within(t: float, df: int) -> float:
    """Return the probability that Student's t lies between -t and t, df a whole number of 1 or more.

    References
    ----------
    Abramowitz M., Stegun I.A. 1964, Handbook of mathematical functions, 26.7.3 and 26.7.4 (from memory).
    """
    if df < 1:
        raise ValueError(f"Student's t needs at least one degree of freedom, got {df}")
    angle = math.atan2(t, math.sqrt(df))
    cos2 = math.cos(angle) ** 2
    odd = df % 2
    term = math.cos(angle) if odd else 1.0
    total = 0.0
    for i in range(odd, df - 1, 2):
        total += term
        term *= cos2 * (i + 1) / (i + 2)
    if odd:
        return 2.0 / math.pi * (angle + math.sin(angle) * total)
    return math.sin(angle) * total


def two_sided_t(level: float, df: int) -> float:
    """Return t so that Student's t lies between -t and t with probability `level`.

    Raises
    ------
    ValueError : unless 0 < level < 1 and df >= 1
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"a confidence level lies between 0 and 1, got {level}")
    lo, hi = 0.0, math.pi / 2
    for _ in range(200):
        mid = 0.5 * (lo + hi)
        if mid in (lo, hi):
            break
        lo, hi = (mid, hi) if t_within(math.sqrt(df) * math.tan(mid), df) < level else (lo, mid)
    return math.sqrt(df) * math.tan(lo)


def difference_interval(before: FloatArray, after: FloatArray, level: float) -> tuple[float, Interval | None]:
    """Return mean(after) - mean(before) and its Welch interval; None with fewer than two values in either.

    Notes
    -----
    The degrees of freedom are rounded down to a whole number, which widens the interval a little.

    References
    ----------
    Welch B.L. 1947, The generalization of Student's problem when several different population variances
    are involved, Biometrika 34:28-35 (from memory).
    """
    gap = float(after.mean() - before.mean())
    if before.size < 2 or after.size < 2:
        return gap, None
    parts = [float(x.var(ddof=1)) / x.size for x in (before, after)]
    total = math.fsum(parts)
    if total == 0.0:
        return gap, Interval(gap, gap, level, "Welch t, no spread")
    freedom = total**2 / (parts[0] ** 2 / (before.size - 1) + parts[1] ** 2 / (after.size - 1))
    reach = two_sided_t(level, max(1, math.floor(freedom + 1e-9))) * math.sqrt(total)
    return gap, Interval(gap - reach, gap + reach, level, "Welch t")


def mean_interval(values: FloatArray, level: float) -> Interval | None:
    """Return the t interval of a mean; None with fewer than two values."""
    if values.size < 2:
        return None
    mean = float(values.mean())
    reach = two_sided_t(level, values.size - 1) * float(values.std(ddof=1)) / math.sqrt(values.size)
    return Interval(mean - reach, mean + reach, level, "Student t")


def positive(values: npt.ArrayLike, what: str, least: int = 1) -> FloatArray:
    """Return the values as an array (n,), checked.

    Raises
    ------
    ValueError : if there are fewer than `least`, or one is not finite and above zero
    """
    out = np.asarray(values, dtype=np.float64)
    if out.ndim != 1 or out.size < least:
        raise ValueError(f"{what}: at least {least} needed")
    if not (np.isfinite(out).all() and (out > 0).all()):
        raise ValueError(f"{what}: sizes are finite and above zero")
    return out
