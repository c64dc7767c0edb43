"""Who was with whom: the females in a box when eggs were laid, and the males that had been with them.

A stay is a stretch during which females were in a box without a break. The possible sires of eggs laid there are the
males that were in the box at any time of the stay, and those in the boxes that the females had come from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import takewhile

from boxside.core.values.moments import DAY_MS
from boxside.core.values.stages import Sex
from boxside.store.lineage import AdultMove, Place

# Eggs may be found some days after the female that laid them has died (common practice, no source).
FOUND_LATE_DAYS = 14
_MALES = frozenset({Sex.MALE})
Numbers = dict[str, int]


@dataclass(frozen=True, slots=True)
class Stay:
    """Females without a break in one box, up to a place in the history.

    `females` and `males` are numbers by cohort: females there last, males at any time of the stay.
    `until` is None where females are still there.
    """

    box: str
    since: Place
    until: Place | None
    females: Mapping[str, int]
    males: Mapping[str, int]
    are_sexed: bool = True


@dataclass(slots=True)
class _Run:
    """Females in one box as they come and go."""

    since: Place
    until: Place | None = None
    came: list[AdultMove] = field(default_factory=list)
    last: Numbers = field(default_factory=dict)


def by_box(moves: Iterable[AdultMove]) -> dict[str, list[AdultMove]]:
    """Return the moves of each box, in the order of the history."""
    found: dict[str, list[AdultMove]] = {}
    for move in moves:
        found.setdefault(move.box, []).append(move)
    return found


def stay_at(moves: Mapping[str, Sequence[AdultMove]], box: str, place: Place) -> Stay | None:
    """Return the stay during which something happened in a box; None where no adult could have laid.

    Where the females were never sexed, all unsexed adults count as possible dams and as possible sires.
    """
    return _stay(moves, box, place, frozenset({Sex.FEMALE})) or _stay(moves, box, place, frozenset({Sex.UNKNOWN}))


def stays_of(moves: Mapping[str, Sequence[AdultMove]], box: str) -> list[Stay]:
    """Return every stay of females in a box, oldest first."""
    own = moves.get(box, ())
    found = []
    for run in _runs(own, _AFTER_ALL, lambda move: move.sex is Sex.FEMALE):
        end = run.until or _AFTER_ALL
        males = _males(moves, run, box, end, _MALES, frozenset())
        found.append(Stay(box, run.since, run.until, run.last, males))
    return found


_AFTER_ALL: Place = (1 << 62, 0, 0, "")


def _stay(moves: Mapping[str, Sequence[AdultMove]], box: str, place: Place, dams: frozenset[Sex]) -> Stay | None:
    runs = _runs(moves.get(box, ()), place, lambda move: move.sex in dams)
    if not runs:
        return None
    run = runs[-1]
    if run.until is not None and place[2] - run.until[2] > FOUND_LATE_DAYS * DAY_MS:
        return None
    sires = _MALES if Sex.FEMALE in dams else _MALES | dams
    males = _males(moves, run, box, place, sires, frozenset())
    return Stay(box, run.since, run.until, run.last, males, Sex.FEMALE in dams)


def _runs(moves: Sequence[AdultMove], place: Place, is_female: Callable[[AdultMove], bool]) -> list[_Run]:
    """The stays of a box up to a place; within one visit the dead are booked first, yet may have laid before."""
    runs: list[_Run] = []
    there: Numbers = {}
    before_visit: Numbers = {}
    visit = None
    for move in _before(moves, place):
        if move.place[0] != visit:
            visit, before_visit = move.place[0], dict(there)
        if is_female(move):
            _step(runs, there, before_visit, move)
    if runs and visit != place[0] and _total(there):
        runs[-1].last = {cohort: n for cohort, n in there.items() if n}
    return runs


def _step(runs: list[_Run], there: Numbers, before_visit: Numbers, move: AdultMove) -> None:
    """Carry the stays over one change in the females; out and in again within one visit is one stay."""
    is_back = bool(runs) and runs[-1].until is not None and runs[-1].until[0] == move.place[0]
    if not _total(there) and move.delta > 0 and not is_back:
        runs.append(_Run(move.place))
    there[move.cohort] = max(0, there.get(move.cohort, 0) + move.delta)
    if not runs:
        return
    run = runs[-1]
    if move.delta > 0:
        run.came.append(move)
    run.until = None if _total(there) else move.place
    run.last = _most(there, before_visit)


def _before(moves: Sequence[AdultMove], place: Place) -> Iterator[AdultMove]:
    return takewhile(lambda move: move.place < place, moves)


def _males(
    moves: Mapping[str, Sequence[AdultMove]],
    run: _Run,
    box: str,
    place: Place,
    sexes: frozenset[Sex],
    seen: frozenset[str],
) -> Numbers:
    """Males there when the stay began and those that came during it, there and where the females were before."""
    found = _met(moves.get(box, ()), run.since, place, sexes)
    for earlier, at in _came_from(moves, run, box):
        before = _runs(moves.get(earlier, ()), at, lambda move: move.sex is Sex.FEMALE)
        if before and earlier not in seen:
            more = _males(moves, before[-1], earlier, at, sexes, seen | {box})
            found = {cohort: max(found.get(cohort, 0), more.get(cohort, 0)) for cohort in {**found, **more}}
    return {cohort: n for cohort, n in found.items() if n}


def _met(moves: Sequence[AdultMove], since: Place, place: Place, sexes: frozenset[Sex]) -> Numbers:
    found: Numbers = {}
    for move in _before(moves, place):
        if move.sex in sexes and (move.place < since or move.delta > 0):
            found[move.cohort] = max(0, found.get(move.cohort, 0) + move.delta)
    return found


def _came_from(moves: Mapping[str, Sequence[AdultMove]], run: _Run, box: str) -> list[tuple[str, Place]]:
    """The boxes that females of a stay were moved from, and when."""
    events = {move.event: move.place for move in run.came}
    return [
        (other, events[move.event])
        for other, theirs in moves.items()
        if other != box
        for move in theirs
        if move.event in events and move.sex is Sex.FEMALE and move.delta < 0
    ]


def _most(there: Numbers, before: Numbers) -> Numbers:
    both = {cohort: max(there.get(cohort, 0), before.get(cohort, 0)) for cohort in {**there, **before}}
    return {cohort: n for cohort, n in both.items() if n}


def _total(there: Numbers) -> int:
    return sum(there.values())
