"""Many possible futures of one stage: temperatures, need, and the day on which the need is met."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from boxside.core.development.climate import Climate
from boxside.core.development.need import Need
from boxside.core.values.errors import EntryError

Floats = NDArray[np.float64]

_CHUNK_DAYS = 60


@dataclass(frozen=True, slots=True)
class Started:
    """A stage that began on a day between `from_on` and `to_on` (equal where the day is known)."""

    from_on: date
    to_on: date

    @property
    def n_days(self) -> int:
        """How many days it may have begun on."""
        return (self.to_on - self.from_on).days + 1


@dataclass(frozen=True, slots=True)
class Paths:
    """Possible temperatures: (n, days) daily `min_c` and `max_c` from `first_on`.

    `last_known` is how many leading days somebody measured or filled in.
    """

    first_on: date
    min_c: Floats
    max_c: Floats
    last_known: int

    def shifted(self, shift_c: float, from_on: date) -> Paths:
        """Return the same futures, warmer by `shift_c` degrees from a day on."""
        step = np.zeros(self.min_c.shape[1])
        step[max((from_on - self.first_on).days, 0) :] = shift_c
        return Paths(self.first_on, self.min_c + step, self.max_c + step, self.last_known)


def temperature_paths(climate: Climate, first_on: date, n_days: int, n: int, rng: np.random.Generator) -> Paths:
    """Return `n` possible runs of daily extremes.

    Parameters
    ----------
    climate : measured days and what is typical
    first_on, n_days : the days wanted, some of them past, the rest to come
    n : how many runs
    rng : source of chance

    Notes
    -----
    Measured days are the same in every run, filled ones vary. Departures carry on from the last measured
    day. The difference of day and night is held at its typical value. From the same source of chance, runs over
    more days begin like those over fewer.
    """
    mean, half = climate.typical(first_on, n_days)
    known_mean, known_half, measured, filled = _known(climate, first_on, n_days)
    there = measured | filled
    level = climate.level_sd_c * rng.standard_normal((n, 1))
    centre = np.where(there, known_mean, mean)
    before = climate.sd_c * rng.standard_normal(n)
    # Drawn day by day, so that a longer look begins with the same days as a shorter one.
    noise = climate.sd_c * np.sqrt(1 - climate.lag**2) * rng.standard_normal((n_days, n)).T
    departure = _departures(climate, noise, measured, known_mean - mean, before)
    departure = np.where(measured, 0.0, np.where(filled, noise, departure))
    departure += np.where(there, 0.0, level)
    half = np.where(there, known_half, half)
    middle = centre + departure
    return Paths(first_on, middle - half, middle + half, int(there.sum()))


def _departures(climate: Climate, noise: Floats, measured: NDArray[np.bool_], known: Floats, before: Floats) -> Floats:
    """(n, days) departures from the typical day that carry on from day to day, and from the last measured one.

    In a run of days that nobody measured, each round adds what is left of twice as many days before.
    """
    n, n_days = noise.shape
    departure = noise.copy()
    first = 0
    while first < n_days:
        if measured[first]:
            before = np.full(n, known[first])
            first += 1
            continue
        ended = np.flatnonzero(measured[first:])
        run = departure[:, first : first + int(ended[0]) if ended.size else n_days]
        run[:, 0] += climate.lag * before
        step = 1
        while step < run.shape[1]:
            run[:, step:] = run[:, step:] + climate.lag**step * run[:, :-step]
            step *= 2
        before, first = run[:, -1], first + run.shape[1]
    return departure


def draw_starts(started: Started, n: int, rng: np.random.Generator) -> NDArray[np.int64]:
    """Return (n,) days after `from_on` on which the stage may have begun, all equally likely.

    Raises
    ------
    EntryError : if it ends before it begins
    """
    if started.n_days < 1:
        raise EntryError("A stage cannot begin later than its latest first day. Correct its dates.")
    return rng.integers(0, started.n_days, size=n)


def cumulated(need: Need, t0_c: Floats, paths: Paths, starts: NDArray[np.int64], enough: Floats) -> Floats:
    """Return (n, days) the days or degree-days gathered by the end of each day since the stage began.

    Parameters
    ----------
    need : says whether days or degree-days are counted
    t0_c : (n,) drawn thresholds
    paths : n runs of temperatures
    starts : (n,) first day of the stage, counted from the paths' first; it counts half, since the stage
        began some time in its course
    enough : (n,) where a run may stop

    Notes
    -----
    Goes on by two months and stops once every run has enough, so `days` may be fewer than the paths have.
    """
    shape = paths.min_c.shape
    begun, parts = np.zeros((shape[0], 1)), []
    for first in range(0, shape[1], _CHUNK_DAYS):
        days = slice(first, first + _CHUNK_DAYS)
        low, high = paths.min_c[:, days], paths.max_c[:, days]
        effect = need.curve.effect_dd(low, high, t0_c[:, np.newaxis]) if need.curve else np.ones(low.shape)
        day, start = np.arange(first, first + low.shape[1]), starts[:, np.newaxis]
        counts = np.select([day < start, day == start], [0.0, 0.5], 1.0)
        parts.append(begun + np.cumsum(effect * counts, axis=1))
        begun = parts[-1][:, -1:]
        if np.all(begun[:, 0] >= enough):
            break
    return np.concatenate(parts, axis=1)


def completion_days(gathered: Floats, wanted: Floats) -> Floats:
    """Return on which day, counted from the paths' first, each run reaches what is wanted.

    Parameters
    ----------
    gathered : (n, days) from `cumulated`
    wanted : (n,) or (n, k) need of one or of k animals

    Returns
    -------
    as `wanted`; infinite where the days looked at do not suffice
    """
    n_days = gathered.shape[1]
    many = wanted.reshape(wanted.shape[0], -1)
    day = np.stack([np.searchsorted(row, goal) for row, goal in zip(gathered, many, strict=True)])
    done = np.where(day < n_days, day.astype(np.float64), np.inf)
    return done.reshape(wanted.shape)


def _known(
    climate: Climate, first_on: date, n_days: int
) -> tuple[Floats, Floats, NDArray[np.bool_], NDArray[np.bool_]]:
    mean, half = np.zeros(n_days), np.zeros(n_days)
    measured, filled = np.zeros(n_days, dtype=bool), np.zeros(n_days, dtype=bool)
    last_on = first_on + timedelta(days=n_days - 1)
    for day in climate.days:
        if first_on <= day.on <= last_on:
            i = (day.on - first_on).days
            mean[i], half[i] = (day.min_c + day.max_c) / 2, (day.max_c - day.min_c) / 2
            filled[i], measured[i] = day.filled, not day.filled
    return mean, half, measured, filled
