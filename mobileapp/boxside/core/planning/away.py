"""Leaving home without losing a cohort: the last day's work, a helper's tasks, the day to be back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxside.core.values.due import Due
from boxside.core.values.errors import EntryError


@dataclass(frozen=True, slots=True)
class Chore:
    """A task that comes again: when it is due now, and how many days after being done it is due next."""

    due: Due
    interval_days: int

    @property
    def early_days(self) -> int:
        """How many days before its day it may be done."""
        return (self.due.on - self.due.earliest).days

    @property
    def grace_days(self) -> int:
        """How many days after its day it is not yet late."""
        return (self.due.latest - self.due.on).days


@dataclass(frozen=True, slots=True)
class DatedTask:
    """Something to do at a box on a day, and why in one sentence."""

    on: date
    box: str
    task: str
    why: str


@dataclass(frozen=True, slots=True)
class Unattended:
    """A task that is late before the keeper is back if nobody comes: from which day, and by how many days."""

    box: str
    task: str
    late_from: date
    late_days: int


@dataclass(frozen=True, slots=True)
class AwayPlan:
    """What an absence asks for.

    `before` is to be done on the last day at home; `unattended` is late without a helper even so, most
    days first; `helper` is what a helper does on as few days as the plan finds; `safe_until` is the last day
    of return with which nothing is late without a helper (None where nothing is due), set by `limiting`.
    """

    leave_on: date
    back_on: date
    before: tuple[DatedTask, ...]
    unattended: tuple[Unattended, ...]
    helper: tuple[DatedTask, ...]
    safe_until: date | None
    limiting: tuple[str, ...]

    @property
    def helper_days(self) -> tuple[date, ...]:
        """The days on which a helper must come."""
        return tuple(sorted({task.on for task in self.helper}))


@dataclass(frozen=True, slots=True)
class _Open:
    """A chore's next turn: from when it may be done, and its last day in time."""

    chore: Chore
    earliest: date
    latest: date

    def gains(self, day: date) -> bool:
        """Whether it may be done on a day, and doing it then puts its last day off."""
        return self.earliest <= day and self.after(day).latest > self.latest

    def after(self, done_on: date) -> _Open:
        on = done_on + timedelta(days=self.chore.interval_days)
        early, grace = timedelta(days=self.chore.early_days), timedelta(days=self.chore.grace_days)
        # Its next turn lies at least a day ahead, however early it may be done.
        return _Open(self.chore, max(on - early, done_on + timedelta(days=1)), on + grace)


def away_plan(chores: Sequence[Chore], leave_on: date, back_on: date) -> AwayPlan:
    """Return what leaving after `leave_on` and being back on `back_on` asks for.

    Parameters
    ----------
    chores : one per box and task; leave out boxes at rest until after the return
    leave_on : last day at home, on which things can still be done
    back_on : first day at home again, on which things can be done in time

    Raises
    ------
    EntryError : a return that is not after the last day, an interval below one day, a task whose days are
        the wrong way round

    Notes
    -----
    A task is done on the last day if it may be done by then and would otherwise be late before the return.
    A helper comes as late as the first open task allows and then does all that may be done and would be late.
    """
    _check(chores, leave_on, back_on)
    now = [_Open(chore, chore.due.earliest, chore.due.latest) for chore in chores]
    wanted = [turn.gains(leave_on) and turn.latest < back_on for turn in now]
    before = [turn for turn, first in zip(now, wanted, strict=True) if first]
    turns = [turn.after(leave_on) if first else turn for turn, first in zip(now, wanted, strict=True)]
    at_best = [turn.after(leave_on) if turn.gains(leave_on) else turn for turn in now]
    safe_until = min((turn.latest for turn in at_best), default=None)
    return AwayPlan(
        leave_on,
        back_on,
        tuple(_task(turn, leave_on, _why_before(turn, back_on)) for turn in sorted(before, key=_name)),
        _unattended(turns, back_on),
        _helper(turns, leave_on, back_on),
        safe_until,
        tuple(sorted({turn.chore.due.box for turn in at_best if turn.latest == safe_until})),
    )


def _check(chores: Sequence[Chore], leave_on: date, back_on: date) -> None:
    if back_on <= leave_on:
        raise EntryError("The day of return must come after the last day at home. Correct the dates.")
    for chore in chores:
        if chore.interval_days < 1 or not chore.due.earliest <= chore.due.on <= chore.due.latest:
            raise EntryError(f"{chore.due.task} at {chore.due.box} has no interval, or its days are out of order.")


def _unattended(turns: Sequence[_Open], back_on: date) -> tuple[Unattended, ...]:
    late = [
        Unattended(
            turn.chore.due.box,
            turn.chore.due.task,
            turn.latest + timedelta(days=1),
            (back_on - turn.latest).days,
        )
        for turn in turns
        if turn.latest < back_on
    ]
    return tuple(sorted(late, key=lambda row: (-row.late_days, row.box, row.task)))


def _helper(turns: Sequence[_Open], leave_on: date, back_on: date) -> tuple[DatedTask, ...]:
    tasks: list[DatedTask] = []
    pending, day = list(turns), leave_on
    while True:
        late = [turn for turn in pending if turn.latest < back_on]
        if not late:
            return tuple(tasks)
        # What was late before the keeper left is done on the helper's first possible day.
        day = max(min(turn.latest for turn in late), day + timedelta(days=1))
        if day >= back_on:
            return tuple(tasks)
        done = [turn for turn in late if turn.earliest <= day]
        tasks.extend(_task(turn, day, _why_helper(turn)) for turn in sorted(done, key=_name))
        pending = [turn.after(day) if turn.latest < back_on and turn.earliest <= day else turn for turn in pending]


def _task(turn: _Open, on: date, why: str) -> DatedTask:
    return DatedTask(on, turn.chore.due.box, turn.chore.due.task, why)


def _name(turn: _Open) -> tuple[int, str, str]:
    due = turn.chore.due
    return -due.urgency, due.box, due.task


def _why_before(turn: _Open, back_on: date) -> str:
    return f"Late from {_next(turn.latest)}, before the return on {back_on.isoformat()}."


def _why_helper(turn: _Open) -> str:
    return f"Late from {_next(turn.latest)} without it."


def _next(day: date) -> str:
    return (day + timedelta(days=1)).isoformat()
