"""When a stage is expected to be over: a range of dates with probabilities and reasons."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from boxside.core.development.climate import Climate
from boxside.core.development.need import Need
from boxside.core.development.simulate import (
    Paths,
    Started,
    completion_days,
    cumulated,
    draw_starts,
    temperature_paths,
)
from boxside.core.values.due import Reason
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import Chance, Forecast, Outlook

Floats = NDArray[np.float64]

LOW_FRAC, HIGH_FRAC = 0.1, 0.9
HORIZON_DAYS = 400
# Fewer runs than this share still open means that it should have happened by now.
_OVERDUE_FRAC = 0.02


def expected_date(
    what: str,
    started: Started,
    need: Need,
    climate: Climate,
    as_of: date,
    rng: np.random.Generator,
    n_draws: int = 1000,
) -> Forecast:
    """Return when a stage that is not over by `as_of` is expected to be.

    Parameters
    ----------
    what : the event in the keeper's words, as "first larvae of B07"
    started : when the stage began
    need : what it needs, from `prior_need` or `learned_need`
    climate : temperatures measured and to come where the box stands
    as_of : the day of the last look, on which it had not happened
    rng : source of chance
    n_draws : how many futures to try; a thousand place the dates within about a day

    Returns
    -------
    the earliest date (1 in 10 are earlier), the likely (median), the latest (1 in 10 are later), and the
    chance that it has happened by each day from the day after `as_of` to the day all but 1 in 100 have

    Raises
    ------
    EntryError : if the stage begins after `as_of` or has lasted over three years

    Notes
    -----
    Looks 400 days beyond `as_of`. The distribution is that of one clutch; single animals differ more.
    """
    check_started(started, as_of)
    past_days = (as_of - started.from_on).days + 1
    starts = draw_starts(started, n_draws, rng)
    t0, wanted = need.draw(n_draws, rng)
    paths = _paths(need, climate, started.from_on, past_days + HORIZON_DAYS, n_draws, rng)
    done = completion_days(cumulated(need, t0, paths, starts, wanted), wanted)
    return forecast_of(what, done, started.from_on, past_days, reasons_of(started, need, climate, as_of))


def check_started(started: Started, as_of: date) -> None:
    """Refuse a stage that begins after the last look or has lasted over three years (EntryError)."""
    past_days = (as_of - started.from_on).days + 1
    if past_days < 1 or past_days > 1100:
        raise EntryError(
            "A stage must have begun by the day of the last look, and within three years. Correct its dates."
        )


def forecast_of(
    what: str,
    done: Floats,
    from_on: date,
    past_days: int,
    reasons: tuple[Reason, ...],
    with_chances: bool = True,
) -> Forecast:
    """Return the forecast that many futures speak for.

    Parameters
    ----------
    what : the event in the keeper's words
    done : (n,) the day, counted from `from_on`, on which each future is done; infinite for none
    from_on : the first day of the stage
    past_days : futures done before this day are ruled out: somebody looked
    reasons : what the futures rest on
    with_chances : whether to give the chance by each day
    """
    open_still = done[done >= past_days]
    if open_still.size < max(_OVERDUE_FRAC * done.size, 5):
        share = 1 - open_still.size / done.size
        reasons += (Reason("overdue", None, 0, _OVERDUE.format(share=100 * share)),)
        return Forecast(what, Outlook.OVERDUE, None, None, None, (), reasons)
    return _summed_up(what, open_still, from_on, past_days if with_chances else None, reasons)


_OVERDUE = (
    "{share:.0f} of 100 such clutches would have been over by now: look whether it was missed, has died,"
    " or began later than logged."
)
_STALLED = "At these temperatures it is as likely as not to take more than {days} days from now."


def _paths(need: Need, climate: Climate, first_on: date, span: int, n: int, rng: np.random.Generator) -> Paths:
    """Possible temperatures, or none where days alone are counted."""
    if need.curve is None:
        return Paths(first_on, np.zeros((n, span)), np.zeros((n, span)), 0)
    return temperature_paths(climate, first_on, span, n, rng)


def _summed_up(what: str, done: Floats, from_on: date, past_days: int | None, reasons: tuple[Reason, ...]) -> Forecast:
    ordered = np.sort(done)
    ends = np.append(np.flatnonzero(ordered[1:] != ordered[:-1]) + 1, ordered.size)
    days, starts = ordered[ends - 1], np.append(0, ends[:-1])
    # Whole days: a day counts as reached at the middle of its own share, which is right on average.
    middles = (starts + ends) / 2 / done.size
    places = (
        int(np.searchsorted(middles, LOW_FRAC)),
        int(np.argmin(np.abs(middles - 0.5))),
        int(np.searchsorted(middles, HIGH_FRAC, side="right")) - 1,
    )
    low, middle, high = (_day(days[min(max(i, 0), days.size - 1)], from_on) for i in places)
    if middle is None:
        stalled = Reason("stalled", None, 0, _STALLED.format(days=HORIZON_DAYS))
        return Forecast(what, Outlook.STALLED, low, None, None, (), (*reasons, stalled))
    chances = () if past_days is None else _chances(done, from_on, past_days)
    return Forecast(what, Outlook.EXPECTED, low, middle, high, chances, reasons)


def _day(day: float, from_on: date) -> date | None:
    return from_on + timedelta(days=int(day)) if np.isfinite(day) else None


def _chances(done: Floats, from_on: date, first: int) -> tuple[Chance, ...]:
    last = float(np.quantile(done[np.isfinite(done)], 0.99, method="inverted_cdf"))
    ordered = np.sort(done)
    return tuple(
        Chance(from_on + timedelta(days=day), float(np.searchsorted(ordered, day, "right") / ordered.size))
        for day in range(first, int(last) + 1)
    )


def reasons_of(started: Started, need: Need, climate: Climate, as_of: date) -> tuple[Reason, ...]:
    """Return what a forecast rests on: when it began, what it needs, and which temperatures are taken."""
    return (start_reason(started), *shared_reasons(need, climate, as_of))


def shared_reasons(need: Need, climate: Climate, as_of: date) -> tuple[Reason, ...]:
    """Return what forecasts of the same need, place and last look have in common."""
    said = [_need_reason(need)]
    if need.n_left_out:
        text = f"{need.n_left_out} own intervals have no temperatures and were left out."
        said.append(Reason("left_out", None, 0, text))
    if need.curve is not None:
        said.extend(_climate_reasons(climate, as_of))
    return tuple(said)


def start_reason(started: Started) -> Reason:
    """Return the reason that says when a stage began."""
    if started.n_days == 1:
        return Reason("began", None, 0, f"It began on {started.from_on.isoformat()}.")
    text = f"It began between {started.from_on.isoformat()} and {started.to_on.isoformat()}."
    return Reason("began", None, started.n_days - 1, text)


def _need_reason(need: Need) -> Reason:
    middle = float(np.exp(need.weight @ need.mean))
    own = f"the profile and {need.n_seen} own intervals" if need.n_seen else "the profile alone"
    if need.curve is None:
        return Reason("days", None, round(middle), f"It takes about {middle:.0f} days, by {own}.")
    threshold = float(need.weight @ need.t0_c)
    text = f"It takes about {middle:.0f} degree-days above {threshold:.1f} C, by {own}."
    return Reason("temperature_sum", None, 0, text)


def _climate_reasons(climate: Climate, as_of: date) -> list[Reason]:
    mean = float(climate.typical(as_of + timedelta(days=1), 30)[0].mean())
    stated = "what is said of the room" if not climate.days else "the level of the last records"
    kind = "the season in your records" if climate.seasonal else stated
    said = [Reason("climate", None, 0, f"The next 30 days are taken as {mean:.1f} C on average, by {kind}.")]
    if climate.n_filled:
        text = f"{climate.n_filled} days without a measurement were filled in."
        said.append(Reason("filled", None, 0, text))
    return said
