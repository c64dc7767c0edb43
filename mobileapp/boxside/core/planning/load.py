"""How many boxes each coming day asks for, and how heavy days can be lightened.

References
----------
Harvey N.J.A., Ladner R.E., Lovasz L., Tamir T. 2006, Semi-matchings for bipartite graphs and load
balancing, J. Algorithms 59:53-78 (no cost-reducing path means that no distribution is more even).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxside.core.values.due import Due
from boxside.core.values.errors import EntryError


@dataclass(frozen=True, slots=True)
class DayLoad:
    """A day and the tasks that fall on it, most urgent first."""

    on: date
    tasks: tuple[Due, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """A task that is better done on another day than the one it is due on."""

    due: Due
    to_on: date


@dataclass(frozen=True, slots=True)
class Smoothed:
    """The days after smoothing, and every task that was moved for it."""

    days: tuple[DayLoad, ...]
    moved: tuple[Moved, ...]


def load_by_day(dues: Sequence[Due], from_on: date, n_days: int) -> tuple[DayLoad, ...]:
    """Return the tasks of each of `n_days` days from a day on; what is overdue falls on the first.

    Tasks due after the last day are not in it.
    """
    window = _Window(from_on, n_days)
    return _days([(due, window.index(due.on)) for due in dues if due.on < window.end], window)


def smoothed_load(dues: Sequence[Due], from_on: date, n_days: int, heavy_from: int = 0) -> Smoothed:
    """Return the same tasks spread as evenly as their windows allow.

    Parameters
    ----------
    dues : tasks; each may move only between its `earliest` and its `latest`
    from_on, n_days : the days looked at; overdue tasks stay on the first
    heavy_from : only days with more tasks than this are relieved; 0 evens out all

    Raises
    ------
    EntryError : a task whose days are the wrong way round, or no days at all

    Notes
    -----
    Tasks move along the shortest chain of swaps from a heavy day to one at least two lighter; when no such
    chain is left no spread is more even (Harvey et al. 2006). Nothing moves that need not.
    """
    window = _Window(from_on, n_days)
    if n_days < 1 or any(not due.earliest <= due.on <= due.latest for due in dues):
        raise EntryError("A task must be due between its earliest and its latest day. Nothing was moved.")
    tasks = [due for due in dues if due.on < window.end]
    place = [window.index(due.on) for due in tasks]
    spans = [window.span(due) for due in tasks]
    while _relieve(place, spans, n_days, heavy_from):
        pass
    moved = [
        Moved(due, from_on + timedelta(days=day))
        for due, day in zip(tasks, place, strict=True)
        if day != window.index(due.on)
    ]
    return Smoothed(_days(list(zip(tasks, place, strict=True)), window), tuple(moved))


@dataclass(frozen=True, slots=True)
class _Window:
    from_on: date
    n_days: int

    @property
    def end(self) -> date:
        return self.from_on + timedelta(days=self.n_days)

    def index(self, on: date) -> int:
        return max((on - self.from_on).days, 0)

    def span(self, due: Due) -> range:
        """Days on which a task may stand; an overdue one only today."""
        if due.on <= self.from_on:
            return range(1)
        return range(self.index(due.earliest), min(self.index(due.latest), self.n_days - 1) + 1)


def _relieve(place: list[int], spans: Sequence[range], n_days: int, heavy_from: int) -> bool:
    """Move one task's worth from the heaviest day that can be relieved; False when none can."""
    counts = [0] * n_days
    for day in place:
        counts[day] += 1
    for heavy in sorted(range(n_days), key=lambda day: (-counts[day], day)):
        if counts[heavy] <= max(heavy_from, 1):
            return False
        chain = _chain(place, spans, counts, heavy)
        if chain:
            for task, to in chain:
                place[task] = to
            return True
    return False


def _chain(place: Sequence[int], spans: Sequence[range], counts: Sequence[int], heavy: int) -> list[tuple[int, int]]:
    """The shortest chain of moves (task, to) from a heavy day to a day at least two lighter, or none."""
    came: dict[int, tuple[int, int]] = {}
    frontier, seen = [heavy], {heavy}
    while frontier:
        reached: list[int] = []
        for task, day in enumerate(place):
            if day not in frontier:
                continue
            for to in spans[task]:
                if to not in seen:
                    seen.add(to)
                    came[to] = (task, day)
                    reached.append(to)
        goal = min(reached, key=lambda day: (counts[day], day), default=heavy)
        if counts[goal] <= counts[heavy] - 2:
            return _walked(came, goal, heavy)
        frontier = reached
    return []


def _walked(came: dict[int, tuple[int, int]], goal: int, heavy: int) -> list[tuple[int, int]]:
    chain: list[tuple[int, int]] = []
    while goal != heavy:
        task, before = came[goal]
        chain.append((task, goal))
        goal = before
    return chain


def _days(placed: Sequence[tuple[Due, int]], window: _Window) -> tuple[DayLoad, ...]:
    rows: list[list[Due]] = [[] for _ in range(window.n_days)]
    for due, day in placed:
        rows[day].append(due)
    return tuple(
        DayLoad(
            window.from_on + timedelta(days=i),
            tuple(sorted(row, key=lambda due: (-due.urgency, due.on, due.box, due.task))),
        )
        for i, row in enumerate(rows)
    )
