"""What is known about how long a stage takes, and what is expected from it: plain values.

A profile gives either a band of days or a temperature sum; the keeper's thermometer gives daily
minima and maxima; a forecast says when something is expected, how surely, and why.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from boxside.core.values.due import Reason


@dataclass(frozen=True, slots=True)
class DayTemperature:
    """The lowest and highest temperature of one calendar day where a box stands, in degrees C.

    `filled` marks a day that nobody measured and that was put in from its neighbours or the season.
    """

    on: date
    min_c: float
    max_c: float
    filled: bool = False


@dataclass(frozen=True, slots=True)
class DaysBand:
    """How many days a stage takes: eight of ten clutches lie between `low_days` and `high_days`.

    A single published figure is a band of no width; whoever reads it widens it (see `prior_need`).
    """

    low_days: float
    high_days: float
    source: str = ""


@dataclass(frozen=True, slots=True)
class ThermalNeed:
    """What a stage needs as a temperature sum: threshold T0 (degrees C) and constant K (degree-days).

    `t0_sd_c` and `k_sd_dd` are standard errors, `correlation` that of the two (near -1 where both come
    from one rate line). `upper_c` is a horizontal cutoff; `lethal_c` with `reference_c` bends the rate
    down towards a lethal temperature instead. `spread_frac` is how much clutches differ among
    themselves, as a share of K (0.1: common practice, no source).
    """

    t0_c: float
    k_dd: float
    t0_sd_c: float
    k_sd_dd: float
    correlation: float = 0.0
    upper_c: float | None = None
    lethal_c: float | None = None
    reference_c: float | None = None
    spread_frac: float = 0.1
    source: str = ""


@dataclass(frozen=True, slots=True)
class PastInterval:
    """One stage that the keeper has seen from its first to its last day.

    `gap_days` is how long before `ended_on` somebody had last looked: the end lies within that gap.
    """

    began_on: date
    ended_on: date
    gap_days: int = 1

    @property
    def days(self) -> float:
        """Length in days, to the middle of the gap in which it ended."""
        return (self.ended_on - self.began_on).days - self.gap_days / 2


class Outlook(StrEnum):
    """What can be said: dates, that it should have happened, or that it will not at these temperatures."""

    EXPECTED = "expected"
    OVERDUE = "overdue"
    STALLED = "stalled"


@dataclass(frozen=True, slots=True)
class Chance:
    """The probability that something has happened by the end of a day."""

    on: date
    by_frac: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """When something is expected: eight times in ten between `earliest` and `latest`, as likely before
    as after `likely`.

    The dates are None where nothing can be said (`outlook` says why): `latest` alone is None where it lies
    beyond the days looked at. `reasons` hold what the answer rests on, one sentence each.
    """

    what: str
    outlook: Outlook
    earliest: date | None
    likely: date | None
    latest: date | None
    chances: tuple[Chance, ...] = field(default=())
    reasons: tuple[Reason, ...] = field(default=())
