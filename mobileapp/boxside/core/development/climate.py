"""The temperature of days to come, from the keeper's own daily minima and maxima.

A year of records gives a season (one annual wave); fewer days give only their recent level, with a
wide allowance. What nobody measured is filled in and marked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DayTemperature

Floats = NDArray[np.float64]

YEAR_DAYS = 365.2425
SEASON_NEEDS_DAYS = 300
RECENT_DAYS = 30
# Allowance for a level that may change with the season where no season is known yet, degrees C
# (common practice, no source).
UNKNOWN_SEASON_SD_C = 2.0
_SMALL_GAP_DAYS = 3


@dataclass(frozen=True, slots=True)
class Climate:
    """What is typical at a place, how days depart from it, and the days that were measured.

    `mean_c` and `half_c` hold (constant, cosine, sine) of the annual wave of a day's mean and of half its
    range. Departures follow a first-order autoregression with standard deviation `sd_c` and lag-one
    correlation `lag`; the level of whole months varies by `level_sd_c` more. `days` are the measured and
    filled days, without a gap, oldest first.
    """

    mean_c: tuple[float, float, float]
    half_c: tuple[float, float, float]
    sd_c: float
    lag: float
    level_sd_c: float
    seasonal: bool
    days: tuple[DayTemperature, ...] = ()

    def typical(self, first_on: date, n_days: int) -> tuple[Floats, Floats]:
        """Return the typical mean and half range of `n_days` days from `first_on`, each (n_days,), C."""
        waves = _waves(first_on.toordinal() + np.arange(n_days))
        return waves @ np.asarray(self.mean_c), np.maximum(waves @ np.asarray(self.half_c), 0.0)

    @property
    def n_filled(self) -> int:
        """How many of `days` were put in and not measured."""
        return sum(day.filled for day in self.days)


def steady_climate(mean_c: float, half_range_c: float, sd_c: float = 1.0) -> Climate:
    """Return the climate of a place of which the keeper says only how warm it is.

    Parameters
    ----------
    mean_c : the usual temperature, degrees C
    half_range_c : half the difference between day and night
    sd_c : how much days differ (1 degree: common practice, no source)
    """
    return Climate((mean_c, 0.0, 0.0), (half_range_c, 0.0, 0.0), sd_c, 0.7, UNKNOWN_SEASON_SD_C, False)


def fit_climate(record: Sequence[DayTemperature]) -> Climate:
    """Return the climate that a record of days speaks for.

    Parameters
    ----------
    record : daily extremes, in any order, with gaps; of two entries of a day the later in the list counts

    Raises
    ------
    EntryError : fewer than seven measured days, or a maximum below its minimum

    Notes
    -----
    A season needs 300 measured days spread over at least that many days of the year; else the last 30 days
    stand for all that follow and `level_sd_c` is 2 degrees. Gaps up to three days are bridged by a
    straight line, longer ones by the typical day; both are marked as filled.
    """
    known = {day.on: day for day in record if not day.filled}
    if len(known) < 7:
        raise EntryError(
            f"{len(known)} days of temperatures are too few to say what is usual. Nothing was predicted."
            " Log the highest and lowest of at least seven days, or enter the room's usual temperature."
        )
    if any(day.max_c < day.min_c for day in known.values()):
        raise EntryError("A day's highest temperature is below its lowest. Correct that day.")
    days = [known[on] for on in sorted(known)]
    seasonal = len({day.on.timetuple().tm_yday for day in days}) >= SEASON_NEEDS_DAYS
    fitted = days if seasonal else days[-RECENT_DAYS:]
    mean = np.array([(day.min_c + day.max_c) / 2 for day in fitted])
    half = np.array([(day.max_c - day.min_c) / 2 for day in fitted])
    waves = _waves(np.array([day.on.toordinal() for day in fitted]))
    if not seasonal:
        waves[:, 1:] = 0.0
    mean_c, half_c = _coefficients(waves, mean), _coefficients(waves, half)
    departure = mean - waves @ np.asarray(mean_c)
    on = [day.on for day in fitted]
    by_month = _month_levels(on, departure) if seasonal else np.zeros_like(departure)
    sd, lag = _departures(on, departure - by_month)
    level = _level_sd(by_month, sd, lag) if seasonal else UNKNOWN_SEASON_SD_C
    bare = Climate(mean_c, half_c, sd, lag, level, seasonal)
    return Climate(mean_c, half_c, sd, lag, level, seasonal, fill_gaps(days, bare))


def fill_gaps(days: Sequence[DayTemperature], climate: Climate) -> tuple[DayTemperature, ...]:
    """Return the days without a gap from the first to the last, those put in marked `filled`.

    Parameters
    ----------
    days : measured days in order of date, none twice
    climate : what stands in for gaps of more than three days
    """
    filled: list[DayTemperature] = []
    for day in days:
        if filled:
            filled.extend(_between(filled[-1], day, climate))
        filled.append(day)
    return tuple(filled)


def _between(before: DayTemperature, after: DayTemperature, climate: Climate) -> list[DayTemperature]:
    gap = (after.on - before.on).days - 1
    if gap < 1:
        return []
    if gap > _SMALL_GAP_DAYS:
        mean, half = climate.typical(before.on + timedelta(days=1), gap)
        pairs = zip(mean - half, mean + half, strict=True)
    else:
        step = np.arange(1, gap + 1) / (gap + 1)
        low = before.min_c + (after.min_c - before.min_c) * step
        pairs = zip(low, before.max_c + (after.max_c - before.max_c) * step, strict=True)
    return [
        DayTemperature(before.on + timedelta(days=i), float(low), float(high), True)
        for i, (low, high) in enumerate(pairs, start=1)
    ]


def _waves(days: NDArray[np.int64]) -> Floats:
    """(n, 3): one, cosine and sine of the time of year of days given by their ordinals."""
    turn = 2 * np.pi * days / YEAR_DAYS
    return np.stack([np.ones(days.size), np.cos(turn), np.sin(turn)], axis=1)


def _coefficients(waves: Floats, values: Floats) -> tuple[float, float, float]:
    constant, cosine, sine = np.linalg.lstsq(waves, values, rcond=None)[0]
    return float(constant), float(cosine), float(sine)


def _departures(on: Sequence[date], departure: Floats) -> tuple[float, float]:
    """Standard deviation of the departures, and their correlation from one day to the next."""
    sd = float(np.std(departure))
    pairs = [i for i in range(1, len(on)) if (on[i] - on[i - 1]).days == 1]
    if sd == 0 or len(pairs) < 5:
        return sd, 0.0
    product = float(np.mean([departure[i] * departure[i - 1] for i in pairs]))
    return sd, float(np.clip(product / sd**2, 0.0, 0.98))


def _month_levels(on: Sequence[date], departure: Floats) -> Floats:
    """(n,) the mean departure of the 30-day block in which each day lies."""
    block = np.array([(day - on[0]).days // RECENT_DAYS for day in on])
    _, place, counts = np.unique(block, return_inverse=True, return_counts=True)
    return np.asarray((np.bincount(place, departure) / counts)[place])


def _level_sd(by_month: Floats, sd_c: float, lag: float) -> float:
    """How much the level of 30-day blocks varies beyond what correlated days alone would make it."""
    by_chance = sd_c**2 / RECENT_DAYS * (1 + lag) / (1 - lag)
    return float(np.sqrt(max(float(np.var(by_month)) - by_chance, 0.0)))
