"""Sizes over time: each body, and the median and quartiles of each day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.growth.student import positive

LIMITS = (
    "Bodies are not known one by one: a day shows those that were measured, and small ones hide.",
    "A larva that is not stretched out measures short.",
)


@dataclass(frozen=True, slots=True)
class Body:
    """One measured body: the day on any one scale (age or date), and its length in mm."""

    day: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class SizeDay:
    """The bodies of one day: how many, median and quartiles in mm, and each length, smallest first."""

    day: float
    n: int
    lower_mm: float
    median_mm: float
    upper_mm: float
    lengths_mm: tuple[float, ...]
    geometric_mean_mm: float


def sizes_by_day(bodies: Sequence[Body]) -> tuple[SizeDay, ...]:
    """Return the summary of each day on which bodies were measured, in order; empty for none.

    Raises
    ------
    ValueError : if a length is not finite and above zero

    References
    ----------
    Hyndman R.J., Fan Y. 1996, Sample quantiles in statistical packages, Am. Stat. 50:361-365,
    definition 7 (from memory).
    """
    by_day: dict[float, list[float]] = defaultdict(list)
    for body in bodies:
        by_day[body.day].append(body.length_mm)
    return tuple(_summary(day, by_day[day]) for day in sorted(by_day))


def _summary(day: float, lengths: Sequence[float]) -> SizeDay:
    values = np.sort(positive(lengths, "lengths"))
    lower, median, upper = (float(q) for q in np.quantile(values, [0.25, 0.5, 0.75]))
    return SizeDay(
        day=day, n=values.size, lower_mm=lower, median_mm=median, upper_mm=upper,
        lengths_mm=tuple(values.tolist()), geometric_mean_mm=float(np.exp(np.log(values).mean())),
    )  # fmt: skip
