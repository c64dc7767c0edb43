"""The dates of many clutches at once: stages that share a need and a place are foretold in the same futures.

A shelf of hundreds of boxes holds few kinds of stage; what costs time (drawing needs, temperatures and
their sums) is done once for all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from boxside.core.development.climate import Climate
from boxside.core.development.expectation import (
    HORIZON_DAYS,
    check_started,
    forecast_of,
    shared_reasons,
    start_reason,
)
from boxside.core.development.need import Need
from boxside.core.development.simulate import Started, temperature_paths
from boxside.core.values.due import Reason
from boxside.core.values.forecast import Forecast

Floats = NDArray[np.float64]

_SOON_DAYS = (100, 200)


@dataclass(frozen=True, slots=True)
class Asked:
    """One stage that is not over: what its end is called, when it began, and the day of the last look."""

    what: str
    started: Started
    as_of: date


def expected_dates(
    asked: Sequence[Asked], need: Need, climate: Climate, rng: np.random.Generator, n_draws: int = 1000
) -> tuple[Forecast, ...]:
    """Return when each of several stages with the same need at the same place is expected to be over.

    Parameters
    ----------
    asked : the stages, in any order
    need : what all of them need
    climate : temperatures where all of them stand
    rng : source of chance
    n_draws : how many futures

    Returns
    -------
    one forecast each, as `expected_date` gives it, without the chances by day

    Raises
    ------
    EntryError : as `expected_date`

    Notes
    -----
    Each forecast is the same in distribution as one of `expected_date`; being seen in the same futures, they err
    together: do not multiply their probabilities.
    """
    if not asked:
        return ()
    for one in asked:
        check_started(one.started, one.as_of)
    t0, wanted = need.draw(n_draws, rng)
    within = rng.random(n_draws)
    finish = _by_days(wanted) if need.curve is None else _by_warmth(asked, need, climate, t0, wanted, rng)
    first = min(one.started.from_on for one in asked)
    # Boxes that were filled and looked at on the same days are foretold once.
    kept: dict[tuple[Started, date], Forecast] = {}
    why: dict[date, tuple[Reason, ...]] = {}
    for one in asked:
        key = (one.started, one.as_of)
        if one.as_of not in why:
            why[one.as_of] = shared_reasons(need, climate, one.as_of)
        if key not in kept:
            kept[key] = _forecast(one, finish, within, why[one.as_of], first)
    return tuple(replace(kept[one.started, one.as_of], what=one.what) for one in asked)


def _forecast(one: Asked, finish: _Finish, within: Floats, why: tuple[Reason, ...], first: date) -> Forecast:
    starts = (within * one.started.n_days).astype(np.int64)
    offset = (one.started.from_on - first).days
    done = finish.done(starts + offset) - offset
    past = (one.as_of - one.started.from_on).days + 1
    done[done >= past + HORIZON_DAYS] = np.inf
    reasons = (start_reason(one.started), *why)
    return forecast_of(one.what, done, one.started.from_on, past, reasons, with_chances=False)


class _Finish(Protocol):
    """On which day each future is done that begins on given days."""

    def done(self, starts: NDArray[np.int64]) -> Floats: ...


@dataclass(frozen=True, slots=True)
class _Days:
    """Needs counted in days: (n,) whole days after the first on which each future is done."""

    after: Floats

    def done(self, starts: NDArray[np.int64]) -> Floats:
        return starts + self.after


@dataclass(frozen=True, slots=True)
class _Warmth:
    """Needs counted in warmth: (n, days) sums since the first day, (n, days) effects, and (n,) needs."""

    sums: Floats
    effects: Floats
    wanted: Floats

    def done(self, starts: NDArray[np.int64]) -> Floats:
        row = np.arange(self.wanted.size)
        goal = self.wanted + self.sums[row, starts] - self.effects[row, starts] / 2
        day = np.sum(self.sums < goal[:, np.newaxis], axis=1)
        return np.where(day < self.sums.shape[1], day.astype(np.float64), np.inf)


def _by_days(wanted: Floats) -> _Days:
    # The first day counts half, every other one whole: see `cumulated`.
    return _Days(np.maximum(np.ceil(wanted - 0.5), 0.0))


def _by_warmth(
    asked: Sequence[Asked], need: Need, climate: Climate, t0_c: Floats, wanted: Floats, rng: np.random.Generator
) -> _Warmth:
    if need.curve is None:
        raise ValueError("a need that is counted in days has no warmth")
    first = min(one.started.from_on for one in asked)
    past = (max(one.as_of for one in asked) - first).days + 1
    begun = max((one.started.to_on - first).days for one in asked)
    seed = rng.integers(1 << 62)
    # Most stages are over within months: the whole horizon is drawn only where some future needs it.
    for ahead in (*_SOON_DAYS, HORIZON_DAYS):
        chance = np.random.default_rng(seed)
        paths = temperature_paths(climate, first, past + ahead, wanted.size, chance)
        effects = need.curve.effect_dd(paths.min_c, paths.max_c, t0_c[:, np.newaxis])
        sums = np.cumsum(effects, axis=1)
        if np.all(sums[:, -1] >= wanted + sums[:, begun]):
            break
    return _Warmth(sums, effects, wanted)
