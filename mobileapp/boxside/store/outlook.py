"""What forecasts ask of the log: when stages began, when boxes were last looked at, who rests, what was eaten.

None of it reads the whole log: each question goes through an index to the stages, boxes or kinds it is about.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from boxside.core.values.due import Due, Reason
from boxside.core.values.event import Json
from boxside.store.connection import Store
from boxside.store.entities import parsed

# Animals that come back from these accounts did not begin a stage: they were there before.
_RETURNED = "('', 'dead', 'escaped', 'unaccounted', 'surplus')"


@dataclass(frozen=True, slots=True)
class Entry:
    """Animals of a cohort that began a stage in one event."""

    cohort: str
    stage: str
    at_ms: int
    n: int


@dataclass(frozen=True, slots=True)
class First:
    """When the first animals of a cohort were booked into a stage (and sex), in which instar and box."""

    cohort: str
    stage: str
    sex: str
    at_ms: int
    instar: int
    box: str


@dataclass(frozen=True, slots=True)
class Logged:
    """One standing event of a kind: its id, subject, moment and fields."""

    event: str
    subject: str
    kind: str
    at_ms: int
    fields: Mapping[str, Json]


# The moment, instar and box of the first booking of a cohort's animals into a stage.
_FIRST = (
    "(SELECT p.at_ms || ' ' || p.instar || ' ' || p.box FROM posting p WHERE p.cohort = e.id "
    "AND p.stage = '{stage}' AND p.account = '' AND p.delta > 0{sex} "
    "ORDER BY p.visit_ms, p.phase, p.at_ms, p.event_id LIMIT 1)"
)
_STAGES = ("egg", "larva", "prepupa", "pupa", "adult")
_SEXED, _SEXES = ("pupa", "adult"), ("female", "male")


def stage_entries(store: Store, cohorts: Sequence[str], stages: Sequence[str]) -> list[Entry]:
    """Return by which events animals of the given cohorts began the given stages, oldest first."""
    if not cohorts:
        return []
    sql = (
        f"SELECT cohort, stage, min(at_ms), sum(delta) FROM posting WHERE cohort IN ({_marks(cohorts)}) "
        f"AND stage IN ({_marks(stages)}) AND account IN {_RETURNED} "
        "GROUP BY cohort, stage, event_id HAVING sum(delta) > 0 ORDER BY 1, 2, 3"
    )
    return [Entry(*row) for row in store.rows(sql, (*cohorts, *stages))]


def first_stages(store: Store) -> list[First]:
    """Return when every cohort first had animals of each stage; adults and pupae also by sex."""
    asked = ", ".join(_FIRST.format(stage=stage, sex="") for stage in _STAGES)
    rows = store.rows(f"SELECT e.id, {asked} FROM entity e WHERE e.type = 'cohort'")
    found = [_first(row[0], stage, "", at) for row in rows for stage, at in zip(_STAGES, row[1:], strict=True) if at]
    # Most cohorts have never had most stages: the sexes are asked for only where the stage was found.
    for stage in _SEXED:
        found += _first_sexed(store, stage, [first.cohort for first in found if first.stage == stage])
    return found


def _first_sexed(store: Store, stage: str, cohorts: Sequence[str]) -> list[First]:
    asked = ", ".join(_FIRST.format(stage=stage, sex=f" AND p.sex = '{sex}'") for sex in _SEXES)
    sql = f"SELECT e.id, {asked} FROM entity e WHERE e.type = 'cohort' AND e.id IN ({_marks(cohorts)})"
    rows = store.rows(sql, cohorts) if cohorts else []
    return [_first(row[0], stage, sex, at) for row in rows for sex, at in zip(_SEXES, row[1:], strict=True) if at]


def last_visit_before(store: Store, box: str, before_ms: int) -> int | None:
    """Return when a box was last logged at before an instant."""
    sql = "SELECT max(visit_ms) FROM touch WHERE subject_type = 'box' AND subject_id = ? AND visit_ms < ?"
    row = store.row(sql, (box, before_ms))
    return int(row[0]) if row and row[0] is not None else None


def last_looks(store: Store, kinds: Sequence[str]) -> dict[str, int]:
    """Return for every box when an event of one of the kinds was last logged there, as instants."""
    sql = (
        f"SELECT subject_id, max(at_ms) FROM latest WHERE kind IN ({_marks(kinds)}) AND subject_type = 'box' "
        "GROUP BY subject_id"
    )
    return {row[0]: int(row[1]) for row in store.rows(sql, tuple(kinds))}


def newest_of(store: Store, subject_type: str, kinds: Sequence[str]) -> list[Logged]:
    """Return the newest standing event of each of a few kinds at every subject of a type."""
    sql = (
        "SELECT l.event_id, l.subject_id, l.kind, l.at_ms, e.fields FROM latest l JOIN event e ON e.id = l.event_id "
        f"WHERE l.kind IN ({_marks(kinds)}) AND l.subject_type = ? ORDER BY l.at_ms, l.event_id"
    )
    return [_logged(row) for row in store.rows(sql, (*kinds, subject_type))]


def standing(store: Store, subject_type: str, subject: str, kind: str, from_ms: int = -(1 << 53)) -> list[Logged]:
    """Return all standing events of a kind at one subject since an instant, oldest first."""
    sql = (
        "SELECT t.event_id, t.subject_id, t.kind, t.at_ms, e.fields FROM touch t JOIN event e ON e.id = t.event_id "
        "WHERE t.subject_type = ? AND t.subject_id = ? AND t.kind = ? AND t.at_ms >= ? "
        "AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id) ORDER BY t.at_ms, t.event_id"
    )
    rows = store.rows(sql, (subject_type, subject, kind, from_ms))
    said = parsed([row[4] for row in rows])
    return [Logged(row[0], row[1], row[2], row[3], fields) for row, fields in zip(rows, said, strict=True)]


def subjects_of(store: Store, subject_type: str, kind: str) -> list[str]:
    """Return the subjects at which a kind was logged and stands."""
    sql = "SELECT DISTINCT subject_id FROM latest WHERE kind = ? AND subject_type = ? ORDER BY subject_id"
    return [row[0] for row in store.rows(sql, (kind, subject_type))]


def at_boxes_since(store: Store, kind: str, from_ms: int) -> list[Logged]:
    """Return the standing events of a kind at any box since an instant, oldest first.

    Reads as many rows as there are such events since then, however long the log is before.
    """
    sql = (
        "SELECT t.event_id, t.subject_id, t.kind, t.at_ms, e.fields FROM entity b "
        "JOIN touch t ON t.subject_type = 'box' AND t.subject_id = b.id AND t.kind = ? AND t.key = '' "
        "AND t.visit_ms >= ? JOIN event e ON e.id = t.event_id WHERE b.type = 'box' "
        "AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id) ORDER BY t.at_ms, t.event_id"
    )
    # A visit begins before the events in it; half a day covers the longest of them.
    return [_logged(row) for row in store.rows(sql, (kind, from_ms - 43_200_000)) if row[3] >= from_ms]


def coming_dues(store: Store, told: Sequence[str]) -> list[Due]:
    """Return every task of every open box, longest due first, with reasons for the `told` tasks only.

    Reasons are most of what there is to read, and few tasks need them here.
    """
    sql = (
        f"SELECT d.box, d.task, d.earliest, d.due_on, d.latest, d.urgency, "
        f"CASE WHEN d.task IN ({_marks(told)}) THEN d.reasons ELSE '[]' END FROM due d "
        "JOIN entity b ON b.type = 'box' AND b.id = d.box AND b.open = 1 ORDER BY d.due_on, d.box, d.task"
    )
    rows = store.rows(sql, tuple(told))
    said = parsed([row[6] for row in rows])
    day = date.fromisoformat
    return [
        Due(box, task, day(earliest), day(on), day(latest), tuple(Reason(*one) for one in why) if why else (), urgency)
        for (box, task, earliest, on, latest, urgency, _), why in zip(rows, said, strict=True)
    ]


def _first(cohort: str, stage: str, sex: str, found: str) -> First:
    at_ms, instar, box = found.split(" ", 2)
    return First(cohort, stage, sex, int(at_ms), int(instar), box)


def _logged(row: tuple[object, ...]) -> Logged:
    return Logged(str(row[0]), str(row[1]), str(row[2]), int(str(row[3])), json.loads(str(row[4])))


def _marks(values: Sequence[object]) -> str:
    return ", ".join("?" * len(values))
