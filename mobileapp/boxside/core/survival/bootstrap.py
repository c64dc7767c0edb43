"""Intervals by drawing the animals again: for numbers that have no formula of their own."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from boxside.core.survival.curve import Life, quantile_day, survival_curve
from boxside.core.survival.inspections import Between
from boxside.core.survival.interval_curve import interval_curve, interval_quantile
from boxside.core.values.estimates import Estimate, Interval

LIMITS = (
    "Animals are drawn one by one as if independent; animals of one clutch or box are not quite.",
    "With fewer than about 20 animals such an interval is too narrow (common practice, no source).",
)
Row = TypeVar("Row", Life, Between)


def percentile_interval(values: Sequence[float], level: float) -> Interval:
    """Return the central range of drawn values, infinite ones in their place.

    Raises
    ------
    ValueError : if there are fewer than two values, one is NaN, or the level is not between 0 and 1

    References
    ----------
    Efron B., Tibshirani R.J. 1993, An introduction to the bootstrap, chapter 13 (from memory).
    """
    drawn = np.sort(np.asarray(values, dtype=np.float64))
    if drawn.size < 2 or bool(np.isnan(drawn).any()) or not 0.0 < level < 1.0:
        raise ValueError("a bootstrap interval needs two or more numbers and a level between 0 and 1")
    tail = (1.0 - level) / 2.0
    low, high = _drawn_quantile(drawn, tail), _drawn_quantile(drawn, 1.0 - tail)
    return Interval(low, high, level, "bootstrap percentile")


def _drawn_quantile(drawn: np.ndarray[tuple[int], np.dtype[np.float64]], share: float) -> float:
    """Return the smallest drawn value that `share` of them do not exceed; never mixes with infinity."""
    place = max(math.ceil(share * drawn.size - 1e-9) - 1, 0)
    return float(drawn[place])


def resampled(rows: Sequence[Row], rng: np.random.Generator) -> list[Row]:
    """Return as many animals drawn with replacement from the rows, counts taken into account."""
    n = np.array([row.n for row in rows], dtype=np.int64)
    counts = rng.multinomial(int(n.sum()), n / n.sum())
    return [replace(row, n=int(c)) for row, c in zip(rows, counts, strict=True) if c > 0]


def bootstrap(
    rows: Sequence[Row], statistic: Callable[[Sequence[Row]], float], rng: np.random.Generator,
    n_draws: int = 400, level: float = 0.95,
) -> Estimate:  # fmt: skip
    """Return a number worked out from the rows, with its bootstrap interval.

    Parameters
    ----------
    rows : histories or inspection intervals with counts
    statistic : from rows to a number; infinite where it is not reached
    rng : source of chance, passed in so that a result can be repeated
    n_draws : how often the animals are drawn again
    level : confidence, between 0 and 1
    """
    drawn = [statistic(resampled(rows, rng)) for _ in range(n_draws)]
    n = sum(row.n for row in rows)
    return Estimate(statistic(rows), percentile_interval(drawn, level), n, LIMITS)


def bootstrap_survival(
    rows: Sequence[Between], day: float, rng: np.random.Generator, n_draws: int = 200, level: float = 0.95
) -> Estimate:
    """Return the share of inspected animals still alive after `day` (middle of its bounds), with interval.

    Notes
    -----
    Where every animal has inspection days of its own the bootstrap is not known to be right for this
    curve; with boxes inspected on shared days, as in a round, it is (Sen B., Xu G. 2015, Model based
    bootstrap methods for interval censored data, Comput. Stat. Data Anal. 81:121-129: from memory).
    """
    return bootstrap(rows, lambda drawn: sum(interval_curve(drawn).bounds_at(day)) / 2.0, rng, n_draws, level)


def bootstrap_interval_quantile(
    rows: Sequence[Between], share: float, rng: np.random.Generator, n_draws: int = 200, level: float = 0.95
) -> Estimate:
    """Return the day by which `share` of inspected animals had the event; infinite if never."""

    def day_of(drawn: Sequence[Between]) -> float:
        day = interval_quantile(interval_curve(drawn), share).day
        return math.inf if day is None else day

    return bootstrap(rows, day_of, rng, n_draws, level)


def bootstrap_quantile(
    lives: Sequence[Life], share: float, rng: np.random.Generator, n_draws: int = 400, level: float = 0.95
) -> Estimate:
    """Return the first day with at most `share` alive by the product-limit curve, with interval."""

    def day_of(drawn: Sequence[Life]) -> float:
        day = quantile_day(survival_curve(drawn), share)
        return math.inf if day is None else day

    return bootstrap(lives, day_of, rng, n_draws, level)
