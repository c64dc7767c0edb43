"""Whether the males will still be alive when the females emerge, and what a cooler shelf would change."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from boxside.core.development.climate import Climate
from boxside.core.development.expectation import HIGH_FRAC, HORIZON_DAYS, LOW_FRAC
from boxside.core.development.need import Need
from boxside.core.development.simulate import (
    Paths,
    Started,
    completion_days,
    cumulated,
    draw_starts,
    temperature_paths,
)
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand

Floats = NDArray[np.float64]
# Half the distance between the 10 and 90 % points of a normal law, in standard deviations.
_Z90 = 1.2815515655


@dataclass(frozen=True, slots=True)
class Pupae:
    """Pupae of one sex: how many, since when, what they need, and how long the adults can mate.

    `adult_days` is how long a male lives, or how long an unmated female waits glowing; eight of ten lie
    within. `within_frac` is how much single animals differ from their cohort (0.08: common practice, no
    source).
    """

    n: int
    started: Started
    need: Need
    adult_days: DaysBand
    within_frac: float = 0.08


@dataclass(frozen=True, slots=True)
class Treatment:
    """By how many degrees the shelf of either sex is made warmer (below 0: cooler) from now on."""

    males_c: float = 0.0
    females_c: float = 0.0


@dataclass(frozen=True, slots=True)
class Range:
    """A median with the values between which eight of ten futures lie."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True)
class Meeting:
    """What a treatment is expected to bring.

    `met_frac` is the share of females that have a living male within their wait; `lag_days` is how much
    later the middle female emerges than the middle male (below 0: earlier). `stalled_frac` is the share of
    futures in which one of the sexes does not emerge within 400 days.
    """

    treatment: Treatment
    met_frac: Range
    lag_days: Range
    stalled_frac: float


def meetings(
    males: Pupae,
    females: Pupae,
    climate: Climate,
    as_of: date,
    treatments: Sequence[Treatment],
    rng: np.random.Generator,
    n_draws: int = 400,
) -> tuple[Meeting, ...]:
    """Return what each treatment brings, all seen in the same possible futures.

    Parameters
    ----------
    males, females : pupae of either sex, none emerged yet
    climate : temperatures of the shelf, without the treatment
    as_of : today; a treatment acts from the next day on
    treatments : what to compare; `Treatment()` is to leave things as they are
    rng : source of chance
    n_draws : how many futures

    Raises
    ------
    EntryError : no animals of a sex, or a cohort that began after `as_of`

    Notes
    -----
    A shift acts on temperature sums only: where the need is counted in days the answer does not change, and
    the caller must say so. Nothing is assumed about the cost of cooling to the pupae.
    """
    for pupae in (males, females):
        if pupae.n < 1 or pupae.started.to_on > as_of:
            raise EntryError(
                "A meeting needs at least one pupa of either sex that has begun by today."
                " Nothing was computed. Log the pupae first."
            )
    first = min(males.started.from_on, females.started.from_on)
    span = (as_of - first).days + 1 + HORIZON_DAYS
    paths = temperature_paths(climate, first, span, n_draws, rng)
    male, female = (_drawn(pupae, first, n_draws, rng) for pupae in (males, females))
    return tuple(_meeting(male, female, paths, as_of, treatment) for treatment in treatments)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """One sex in n futures: thresholds (n,), starts (n,), needs (n, k) and days as adult (n, k)."""

    need: Need
    t0_c: Floats
    starts: NDArray[np.int64]
    wanted: Floats
    adult: Floats


def _drawn(pupae: Pupae, first: date, n: int, rng: np.random.Generator) -> _Drawn:
    starts = draw_starts(pupae.started, n, rng) + (pupae.started.from_on - first).days
    t0, cohort = pupae.need.draw(n, rng)
    single = np.exp(pupae.within_frac * rng.standard_normal((n, pupae.n)))
    low, high = math.log(pupae.adult_days.low_days), math.log(pupae.adult_days.high_days)
    adult = np.exp((low + high) / 2 + (high - low) / 2 / _Z90 * rng.standard_normal((n, pupae.n)))
    return _Drawn(pupae.need, t0, starts, cohort[:, np.newaxis] * single, adult)


def _meeting(male: _Drawn, female: _Drawn, paths: Paths, as_of: date, treatment: Treatment) -> Meeting:
    out_m = _emerged(male, paths.shifted(treatment.males_c, as_of), as_of)
    out_f = _emerged(female, paths.shifted(treatment.females_c, as_of), as_of)
    middle_m, middle_f = np.median(out_m, axis=1), np.median(out_f, axis=1)
    both = np.isfinite(middle_m) & np.isfinite(middle_f)
    rows = zip(out_m[both], male.adult[both], out_f[both], female.adult[both], strict=True)
    met = np.array([_met_frac(*row) for row in rows])
    return Meeting(treatment, _range(met), _range(middle_f[both] - middle_m[both]), float(1 - both.mean()))


def _emerged(sex: _Drawn, paths: Paths, as_of: date) -> Floats:
    """Days of emergence (n, k); whoever should have emerged by now does so tomorrow."""
    gathered = cumulated(sex.need, sex.t0_c, paths, sex.starts, sex.wanted.max(axis=1))
    done = completion_days(gathered, sex.wanted)
    return np.maximum(done, (as_of - paths.first_on).days + 1)


def _met_frac(out_m: Floats, adult_m: Floats, out_f: Floats, adult_f: Floats) -> float:
    """Share of females whose wait overlaps some male's life."""
    overlap = (out_m <= (out_f + adult_f)[:, np.newaxis]) & (out_f[:, np.newaxis] <= out_m + adult_m)
    return float(np.any(overlap, axis=1).mean())


def _range(values: Floats) -> Range:
    if values.size == 0:
        return Range(math.nan, math.nan, math.nan)
    low, likely, high = np.quantile(values, (LOW_FRAC, 0.5, HIGH_FRAC))
    return Range(float(low), float(likely), float(high))
