"""How fast bodies grow: per day between two measurings, along a line of days, and per moult."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.growth.sizes import Body
from boxside.core.growth.student import difference_interval, mean_interval, positive, two_sided_t
from boxside.core.values.estimates import Estimate, Interval

LIMITS = (
    "If small animals died or were missed in between, the growth looks greater than it is.",
    "Larvae grow by moults: over less than one instar the rate says little.",
)


@dataclass(frozen=True, slots=True)
class GrowthPerDay:
    """Growth between two measurings: in mm per day, and relative (the difference of log lengths per day).

    `relative` 0.01 is about one per cent a day.
    """

    mm: Estimate
    relative: Estimate


def growth_per_day(
    before_mm: Sequence[float], after_mm: Sequence[float], days: float, level: float = 0.95
) -> GrowthPerDay:
    """Return growth per day between two measurings of a group whose members are not told apart.

    Parameters
    ----------
    before_mm, after_mm : lengths at the first and second measuring, in any order
    days : between them, above zero
    level : confidence of the intervals, which need two bodies at each measuring

    Raises
    ------
    ValueError : if a measuring is empty, a length is not above zero, or days is not above zero
    """
    first, second = positive(before_mm, "lengths before"), positive(after_mm, "lengths after")
    _check_days(days)
    n = first.size + second.size
    gap, interval = difference_interval(first, second, level)
    log_gap, log_interval = difference_interval(np.log(first), np.log(second), level)
    return GrowthPerDay(
        Estimate(gap / days, _per(interval, days), n, LIMITS),
        Estimate(log_gap / days, _per(log_interval, days), n, LIMITS),
    )


def growth_of_pairs(pairs_mm: Sequence[tuple[float, float]], days: float, level: float = 0.95) -> GrowthPerDay:
    """Return growth per day of animals known one by one, as (before, after) lengths of each.

    Raises
    ------
    ValueError : if there is no pair, a length is not above zero, or days is not above zero
    """
    first = positive([pair[0] for pair in pairs_mm], "lengths before")
    second = positive([pair[1] for pair in pairs_mm], "lengths after")
    _check_days(days)
    gain, log_gain = (second - first) / days, np.log(second / first) / days
    return GrowthPerDay(
        Estimate(float(gain.mean()), mean_interval(gain, level), first.size, LIMITS),
        Estimate(float(log_gain.mean()), mean_interval(log_gain, level), first.size, LIMITS),
    )


def growth_line(bodies: Sequence[Body], level: float = 0.95) -> Estimate:
    """Return relative growth per day from all measurings at once: the slope of log length on day.

    Raises
    ------
    ValueError : with fewer than three bodies, fewer than two days, or a length not above zero

    Notes
    -----
    Ordinary least squares with Student's t; bodies of one day count as independent.
    """
    logs = np.log(positive([body.length_mm for body in bodies], "bodies", least=3))
    days = np.array([body.day for body in bodies], dtype=np.float64)
    off = days - days.mean()
    spread = float(off @ off)
    if spread == 0.0:
        raise ValueError("a growth line needs bodies from at least two days")
    slope = float(off @ logs) / spread
    rest = logs - logs.mean() - slope * off
    error = math.sqrt(float(rest @ rest) / (logs.size - 2) / spread)
    reach = two_sided_t(level, logs.size - 2) * error
    interval = Interval(slope - reach, slope + reach, level, "least squares, Student t")
    return Estimate(slope, interval, logs.size, LIMITS)


def growth_per_moult(smaller_mm: Sequence[float], larger_mm: Sequence[float], level: float = 0.95) -> Estimate:
    """Return the ratio of geometric mean sizes of two instars in a row, with its interval.

    Raises
    ------
    ValueError : if an instar is empty or a size is not above zero
    """
    small, large = positive(smaller_mm, "smaller instar"), positive(larger_mm, "larger instar")
    gap, interval = difference_interval(np.log(small), np.log(large), level)
    return Estimate(math.exp(gap), ratio_interval(interval), small.size + large.size, LIMITS)


def ratio_interval(interval: Interval | None) -> Interval | None:
    """Return an interval for a difference of logarithms as one for the ratio; None stays None."""
    if interval is None:
        return None
    method = f"{interval.method} on log size"
    return Interval(math.exp(interval.low), math.exp(interval.high), interval.level, method)


def _check_days(days: float) -> None:
    if not (0.0 < days < math.inf):
        raise ValueError(f"growth needs days above zero between measurings, got {days}")


def _per(interval: Interval | None, days: float) -> Interval | None:
    if interval is None:
        return None
    return Interval(interval.low / days, interval.high / days, interval.level, interval.method)
