"""A cohort against an earlier one at the same age."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from boxside.core.growth.rates import ratio_interval
from boxside.core.growth.student import difference_interval, positive
from boxside.core.values.estimates import Estimate

LIMITS = ("Cohorts differ in season, warmth and food at once: a difference does not say which of them made it.",)


class Pace(StrEnum):
    """How a cohort stands against an earlier one."""

    AHEAD = "ahead"
    BEHIND = "behind"
    ALIKE = "alike"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class PaceComparison:
    """Geometric mean size now over that of the earlier cohort, with its interval, and what follows.

    ALIKE means that the interval holds 1: no difference shown, not that there is none.
    """

    pace: Pace
    ratio: Estimate
    reason: str
    limits: tuple[str, ...] = LIMITS


@dataclass(frozen=True, slots=True)
class Measured:
    """The lengths of a cohort at one age in days (or in degree-days, the same for both)."""

    age: float
    lengths_mm: tuple[float, ...]


def compare_at_age(
    now: Measured, earlier: Sequence[Measured], most_age_gap: float = 7.0, level: float = 0.95
) -> PaceComparison | None:
    """Return how a cohort stands against the measuring of an earlier one that is nearest in age.

    Parameters
    ----------
    now : the cohort in question
    earlier : measurings of the earlier cohort
    most_age_gap : how far ages may differ, on the same scale (7 days is common practice, no source)
    level : confidence of the interval

    Returns
    -------
    The comparison, or None where the earlier cohort was not measured near that age.

    Raises
    ------
    ValueError : if a measuring has no length, or one not above zero
    """
    near = [m for m in earlier if abs(m.age - now.age) <= most_age_gap]
    if not near:
        return None
    past = min(near, key=lambda m: (abs(m.age - now.age), m.age))
    before, after = positive(past.lengths_mm, "earlier lengths"), positive(now.lengths_mm, "lengths now")
    gap, interval = difference_interval(np.log(before), np.log(after), level)
    ratio = Estimate(math.exp(gap), ratio_interval(interval), before.size + after.size, LIMITS)
    pace = _pace(ratio)
    return PaceComparison(pace, ratio, _reason(pace, ratio.value, now, past))


def _pace(ratio: Estimate) -> Pace:
    if ratio.interval is None:
        return Pace.CANNOT_TELL
    if ratio.interval.holds(1.0):
        return Pace.ALIKE
    return Pace.AHEAD if ratio.value > 1.0 else Pace.BEHIND


def _reason(pace: Pace, ratio: float, now: Measured, past: Measured) -> str:
    counts = f"{len(now.lengths_mm)} at age {now.age:g} against {len(past.lengths_mm)} at age {past.age:g}"
    if pace is Pace.CANNOT_TELL:
        return f"Two or more bodies of each cohort are needed ({counts})."
    if pace is Pace.ALIKE:
        return f"No difference shown: {ratio:.2f} times as long ({counts})."
    return f"{ratio:.2f} times as long as the earlier cohort at that age ({counts})."
