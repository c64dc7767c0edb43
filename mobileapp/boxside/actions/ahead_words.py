"""The coming weeks in words, where a list is made of several views: moves, lateness, jobs taken together."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from boxside.actions.wording import day_text
from boxside.core.care import task_label
from boxside.core.values.ahead import Job, LateTask, MovedTask

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def weekday_text(on: date, day: date) -> str:
    """Return a date with its day of the week, `Sat 30 May`.

    Examples
    --------
    >>> weekday_text(date(2026, 5, 30), date(2026, 5, 28))
    'Sat 30 May'
    """
    return f"{WEEKDAYS[on.weekday()]} {day_text(on, day)}"


def in_words(text: str, day: date) -> str:
    """Return a text with its dates as a keeper says them.

    Examples
    --------
    >>> in_words("It began on 2024-07-28.", date(2026, 5, 28))
    'It began on 28 Jul 2024.'
    """
    return re.sub(r"\b\d{4}-\d{2}-\d{2}\b", lambda found: day_text(date.fromisoformat(found[0]), day), text)


def n_days(n: int) -> str:
    """Return `1 day`, `3 days`."""
    return f"{n} day{'' if n == 1 else 's'}"


def move_text(move: MovedTask, day: date) -> tuple[str, str]:
    """Return one move in words: the task, and how far it goes."""
    way = "later" if move.days > 0 else "sooner"
    return task_label(move.task), f"{weekday_text(move.to_on, day)}, {n_days(abs(move.days))} {way}"


def grouped_late(late: Sequence[LateTask]) -> tuple[tuple[str, tuple[LateTask, ...]], ...]:
    """Return late tasks by their label, those that are late first first."""
    groups: dict[str, list[LateTask]] = {}
    for one in sorted(late, key=lambda one: (one.late_from, one.label)):
        groups.setdefault(task_label(one.task), []).append(one)
    return tuple((label, tuple(some)) for label, some in groups.items())


def grouped_jobs(jobs: Sequence[Job]) -> tuple[tuple[str, str, tuple[Job, ...]], ...]:
    """Return jobs that ask for the same together: what, how, and the jobs in the order of the shelf."""
    groups: dict[tuple[str, str], list[Job]] = {}
    for job in jobs:
        groups.setdefault((job.task, job.how), []).append(job)
    return tuple((task, how, tuple(some)) for (task, how), some in groups.items())
