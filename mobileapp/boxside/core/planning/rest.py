"""Winter rest: who rests until when, and what it takes when they wake."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxside.core.planning.figures import Figure, Term, sum_of
from boxside.core.values.errors import EntryError


@dataclass(frozen=True, slots=True)
class Resting:
    """A box at rest: since when, until when, its larvae, and what they will want on waking.

    `first_meal_days` after waking comes the first meal of `helping` prey, then one every `interval_days`.
    """

    box: str
    since_on: date
    until_on: date
    n_larvae: int
    prey: str
    helping: float
    interval_days: int
    first_meal_days: int = 2


@dataclass(frozen=True, slots=True)
class RestRow:
    """One box at rest: how long it has rested and how many days are left (below 0: should be awake)."""

    box: str
    until_on: date
    rested_days: int
    left_days: int
    n_larvae: int


@dataclass(frozen=True, slots=True)
class Waking:
    """What waking the boxes of one day costs.

    `first_meals_on` is the first day on which one of them eats; `prey` the sum of their first meals by kind;
    `visits_a_week` what they add to the keeper's week from then on.
    """

    on: date
    boxes: tuple[str, ...]
    n_larvae: int
    first_meals_on: date
    prey: tuple[Figure, ...]
    visits_a_week: Figure


def resting_rows(resting: Sequence[Resting], as_of: date) -> tuple[RestRow, ...]:
    """Return the boxes at rest on a day, the next to wake first.

    Raises
    ------
    EntryError : a rest that ends before it begins
    """
    _check(resting)
    rows = [
        RestRow(
            rest.box,
            rest.until_on,
            (as_of - rest.since_on).days,
            (rest.until_on - as_of).days,
            rest.n_larvae,
        )
        for rest in resting
        if rest.since_on <= as_of
    ]
    return tuple(sorted(rows, key=lambda row: (row.until_on, row.box)))


def wakings(resting: Sequence[Resting]) -> tuple[Waking, ...]:
    """Return what waking costs, one entry per wake date, in order.

    Raises
    ------
    EntryError : a rest that ends before it begins, an interval below one day
    """
    _check(resting)
    by_day: dict[date, list[Resting]] = {}
    for rest in sorted(resting, key=lambda rest: (rest.until_on, rest.box)):
        by_day.setdefault(rest.until_on, []).append(rest)
    return tuple(_waking(on, rests) for on, rests in by_day.items())


def _waking(on: date, rests: Sequence[Resting]) -> Waking:
    kinds = dict.fromkeys(rest.prey for rest in rests)
    prey = tuple(sum_of(kind, [Term(rest.box, rest.helping) for rest in rests if rest.prey == kind]) for kind in kinds)
    return Waking(
        on,
        tuple(rest.box for rest in rests),
        sum(rest.n_larvae for rest in rests),
        on + timedelta(days=min(rest.first_meal_days for rest in rests)),
        prey,
        sum_of("visits a week", [Term(rest.box, 7 / rest.interval_days) for rest in rests]),
    )


def _check(resting: Sequence[Resting]) -> None:
    for rest in resting:
        if rest.until_on < rest.since_on or rest.interval_days < 1:
            raise EntryError(f"The rest of {rest.box} ends before it begins, or its meals have no interval.")
