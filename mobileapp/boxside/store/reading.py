"""What actions ask of the log: each question is one or two statements through an index."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from boxside.core.ledger import Standing
from boxside.core.values.due import Due, Reason
from boxside.core.values.event import Event, Json
from boxside.core.values.ledger import Line
from boxside.core.values.stages import Sex, Stage
from boxside.store.connection import Store
from boxside.store.entities import data_of, parsed
from boxside.store.rows import EVENT_COLUMNS, PREFIXED_COLUMNS, event_of
from boxside.store.saving import cached
from boxside.store.scope import Scope


@dataclass(frozen=True, slots=True)
class Entity:
    """A box, cohort, area, setting or season as the log leaves it; `shown` is the label to show."""

    type: str
    id: str
    label: str
    shown: str
    open: bool
    data: Mapping[str, Json]


@dataclass(frozen=True, slots=True)
class Newest:
    """The newest standing event of a kind at a subject."""

    event: str
    kind: str
    key: str
    at_ms: int
    visit_ms: int
    fields: Mapping[str, Json]
    subject: str = ""


_ENTITY = "SELECT type, id, label, shown, open, data FROM entity"


def _entity(row: tuple[Any, ...]) -> Entity:
    return Entity(row[0], row[1], row[2], row[3], bool(row[4]), data_of(row[5]))


def _entities(rows: Sequence[tuple[Any, ...]]) -> list[Entity]:
    said = parsed([row[5] for row in rows])
    return [Entity(row[0], row[1], row[2], row[3], bool(row[4]), data) for row, data in zip(rows, said, strict=True)]


def entity(store: Store, entity_type: str, name: str) -> Entity | None:
    """Return one entity by its id."""
    row = store.row(f"{_ENTITY} WHERE type = ? AND id = ?", (entity_type, name))
    return _entity(row) if row else None


def entities(store: Store, entity_type: str) -> list[Entity]:
    """Return all entities of a type, by label."""
    return _entities(store.rows(f"{_ENTITY} WHERE type = ? ORDER BY label, id", (entity_type,)))


def boxes_labelled(store: Store, label: str) -> list[Entity]:
    """Return the open boxes with a code, as written or as shown, whatever its case."""
    named = "(upper(label) = upper(?) OR upper(shown) = upper(?))"
    sql = f"{_ENTITY} WHERE type = 'box' AND open = 1 AND {named} ORDER BY id"
    return [_entity(row) for row in store.rows(sql, (label, label))]


def open_boxes(store: Store) -> list[Entity]:
    """Return all open boxes by code."""
    return _entities(store.rows(f"{_ENTITY} WHERE type = 'box' AND open = 1 ORDER BY label, id"))


def is_empty(store: Store) -> bool:
    """Return whether nothing was ever logged here."""
    return store.row("SELECT 1 FROM event LIMIT 1") is None


def extent(store: Store) -> tuple[int, int | None, int | None, int]:
    """Return how many events there are, when the first and the last happened, and how many photos are named."""
    row = store.row("SELECT count(*), min(at_ms), max(at_ms) FROM event")
    photos = store.row("SELECT count(DISTINCT json_extract(fields, '$.sha256')) FROM event WHERE kind = 'photo'")
    n, first_ms, last_ms = row or (0, None, None)
    return int(n), first_ms, last_ms, int(photos[0]) if photos else 0


def event(store: Store, event_id: str) -> Event | None:
    """Return an event by its id."""
    row = store.row(f"SELECT {EVENT_COLUMNS} FROM event WHERE id = ?", (event_id,))
    return event_of(row) if row else None


def struck(store: Store, event_id: str) -> Standing | None:
    """Return why an event does not count, or None where it does."""
    row = store.row("SELECT why, by_event FROM struck WHERE event_id = ?", (event_id,))
    return Standing(*row) if row else None


def history(store: Store, subject_type: str, subject_id: str, limit: int) -> list[tuple[Event, Standing | None]]:
    """Return a subject's newest events, taken-back and corrected ones among them."""
    sql = f"""
    SELECT {PREFIXED_COLUMNS}, s.why, s.by_event FROM touch t JOIN event e ON e.id = t.event_id
    LEFT JOIN struck s ON s.event_id = e.id
    WHERE t.subject_type = ? AND t.subject_id = ?
    ORDER BY t.visit_ms DESC, t.phase DESC, t.at_ms DESC, t.event_id DESC LIMIT ?
    """
    rows = store.rows(sql, (subject_type, subject_id, limit))
    return [(event_of(row[:16]), Standing(row[16], row[17]) if row[16] else None) for row in rows]


def last_logged(store: Store, device: str) -> Event | None:
    """Return the newest event of this device that still counts and can be taken back."""
    sql = f"""
    SELECT {EVENT_COLUMNS} FROM event WHERE device = ? AND kind <> 'void'
    AND NOT EXISTS (SELECT 1 FROM struck WHERE event_id = event.id AND why = 'voided')
    ORDER BY seq DESC LIMIT 1
    """
    row = store.row(sql, (device,))
    return event_of(row) if row else None


def made_ms(store: Store, box: str) -> int | None:
    """Return when a box was made, None where nobody said."""
    row = store.row(
        "SELECT at_ms FROM latest WHERE subject_type = 'box' AND subject_id = ? AND kind = 'box_made'", (box,)
    )
    return int(row[0]) if row else None


def logged_before(store: Store, device: str, seq: int, limit: int) -> list[Event]:
    """Return what a device logged before one of its numbers, newest first."""
    sql = f"SELECT {EVENT_COLUMNS} FROM event WHERE device = ? AND seq < ? ORDER BY seq DESC LIMIT ?"
    return [event_of(row) for row in store.rows(sql, (device, seq, limit))]


def booked_by(store: Store, cohort: str) -> list[str]:
    """Return the events that moved animals of a cohort, at most two of them."""
    sql = "SELECT DISTINCT event_id FROM posting WHERE cohort = ? LIMIT 2"
    return [row[0] for row in store.rows(sql, (cohort,))]


def lines(store: Store, boxes: Sequence[str]) -> dict[str, list[tuple[Line, int]]]:
    """Return the animals present in each of the given boxes."""
    sql = (
        "SELECT box, cohort, stage, instar, sex, n FROM balance "
        f"WHERE box IN ({_marks(boxes)}) AND account = '' AND n > 0 ORDER BY box, cohort, stage, instar, sex"
    )
    found: dict[str, list[tuple[Line, int]]] = {box: [] for box in boxes}
    for row in store.rows(sql, tuple(boxes)):
        found[row[0]].append((Line(row[0], row[1], Stage(row[2]), row[3], Sex(row[4])), row[5]))
    return found


def newest(store: Store, subject_type: str, subjects: Sequence[str]) -> dict[str, list[Newest]]:
    """Return the newest standing event of every kind at each of the given subjects."""
    sql = (
        "SELECT l.subject_id, l.event_id, l.kind, l.key, l.at_ms, l.visit_ms, e.fields, e.subject_id FROM latest l "
        f"JOIN event e ON e.id = l.event_id WHERE l.subject_type = ? AND l.subject_id IN ({_marks(subjects)})"
    )
    found: dict[str, list[Newest]] = {subject: [] for subject in subjects}
    for row in store.rows(sql, (subject_type, *subjects)):
        found[row[0]].append(Newest(row[1], row[2], row[3], row[4], row[5], json.loads(row[6]), row[7]))
    return found


def stream(
    store: Store, from_ms: int, to_ms: int, kinds: Sequence[str] = (), scope: Scope | None = None
) -> Iterator[tuple[Event, Standing | None]]:
    """Yield all events of a span, or those of some kinds, in the order they happened, without holding them all."""
    for row in event_rows(store, from_ms, to_ms, kinds, scope):
        yield event_of(row[:16]), Standing(row[16], row[17]) if row[16] else None


def event_rows(
    store: Store,
    from_ms: int,
    to_ms: int,
    kinds: Sequence[str] = (),
    scope: Scope | None = None,
    standing: bool = False,
) -> Iterator[tuple[Any, ...]]:
    """Yield the rows of `stream` as they are kept: `EVENT_COLUMNS`, then why and by which event one does not count.

    Parameters
    ----------
    standing : only events that count
    """
    narrowed, values = _narrowed(kinds, scope)
    counting = " AND s.event_id IS NULL" if standing else ""
    sql = f"""
    SELECT {PREFIXED_COLUMNS}, s.why, s.by_event FROM event e LEFT JOIN struck s ON s.event_id = e.id
    WHERE e.at_ms >= ? AND e.at_ms < ?{narrowed}{counting} ORDER BY e.at_ms, e.id
    """
    yield from store.database.execute_sql(sql, (from_ms, to_ms, *values))


def field_rows(store: Store, from_ms: int, to_ms: int, scope: Scope | None = None) -> Iterator[tuple[str, str, str]]:
    """Yield id, kind and fields as JSON of all events of a span, in the order they happened."""
    narrowed, values = _narrowed((), scope)
    sql = (
        f"SELECT e.id, e.kind, e.fields FROM event e WHERE e.at_ms >= ? AND e.at_ms < ?{narrowed} "
        "ORDER BY e.at_ms, e.id"
    )
    yield from store.database.execute_sql(sql, (from_ms, to_ms, *values))


def _narrowed(kinds: Sequence[str], scope: Scope | None) -> tuple[str, tuple[str, ...]]:
    """Return further conditions on events, each with its AND, and their values."""
    sql = f" AND e.kind IN ({_marks(kinds)})" if kinds else ""
    if scope is None:
        return sql, tuple(kinds)
    condition, values = scope.condition()
    return f"{sql} AND {condition}", (*kinds, *values)


def postings(
    store: Store, from_ms: int, to_ms: int, scope: Scope | None = None, with_device: bool = False
) -> Iterator[tuple[Any, ...]]:
    """Yield the postings of a span in the order of their events, without sorting or holding them all.

    Each is event, nth, time, offset, box, cohort, stage, instar, sex, account, delta, and the device where asked for.
    """
    narrowed, values = _narrowed((), scope)
    sql = (
        "SELECT p.event_id, p.nth, p.at_ms, e.offset_min, p.box, p.cohort, p.stage, p.instar, p.sex, p.account, "
        # CROSS JOIN keeps the order of the loops: events by their index on time, then the postings of each.
        f"p.delta{', e.device' if with_device else ''} FROM event e CROSS JOIN posting p ON p.event_id = e.id "
        f"WHERE e.at_ms >= ? AND e.at_ms < ?{narrowed} ORDER BY e.at_ms, e.id, p.nth"
    )
    yield from store.database.execute_sql(sql, (from_ms, to_ms, *values))


def booked(store: Store, event_id: str, account: str) -> int:
    """Return how many animals one event booked to an account outside."""
    row = store.row("SELECT sum(delta) FROM posting WHERE event_id = ? AND account = ?", (event_id, account))
    return int(row[0] or 0) if row else 0


def balances_before(store: Store, ms: int) -> list[tuple[Any, ...]]:
    """Return every line and account as it stood before an instant: box, cohort, stage, instar, sex, account, n."""
    sql = (
        "SELECT box, cohort, stage, instar, sex, account, sum(delta) AS n FROM posting WHERE at_ms < ? "
        "GROUP BY box, cohort, stage, instar, sex, account HAVING n <> 0 ORDER BY 1, 2, 3, 4, 5, 6"
    )
    return store.rows(sql, (ms,))


def balances(store: Store) -> list[tuple[Line, str, int]]:
    """Return every line and account as it stands now."""
    sql = "SELECT box, cohort, stage, instar, sex, account, n FROM balance WHERE n <> 0 ORDER BY 1, 2, 3, 4, 5, 6"
    return [(Line(r[0], r[1], Stage(r[2]), r[3], Sex(r[4])), r[5], r[6]) for r in store.rows(sql)]


def stale_boxes(store: Store, stamp: str) -> list[str]:
    """Return the open boxes whose due tasks must be worked out again."""
    sql = (
        "SELECT b.id FROM entity b LEFT JOIN due_box d ON d.box = b.id "
        "WHERE b.type = 'box' AND b.open = 1 AND (d.stamp IS NULL OR d.stamp <> ?) ORDER BY b.id"
    )
    fresh = {box for box, held in store.aside.items() if held[0] == stamp}
    return [row[0] for row in store.rows(sql, (stamp,)) if row[0] not in fresh]


def hold_dues(store: Store, stamp: str, dues: Mapping[str, Sequence[Due]]) -> None:
    """Keep the due tasks of boxes; only until the app ends where the log cannot be written now.

    They follow from the log, so no disk is waited for, and one that refuses keeps nobody from seeing them.
    """
    if cached(store, lambda: keep_dues(store, stamp, dues)):
        for box in dues:
            store.aside.pop(box, None)
    else:
        store.aside.update({box: (stamp, tuple(tasks)) for box, tasks in dues.items()})


def keep_dues(store: Store, stamp: str, dues: Mapping[str, Sequence[Due]]) -> None:
    """Keep the due tasks of boxes, inside a transaction."""
    for box, tasks in dues.items():
        store.run("DELETE FROM due WHERE box = ?", (box,))
        store.run_many("INSERT INTO due VALUES (?, ?, ?, ?, ?, ?, ?)", [_due_row(due) for due in tasks])
        store.run("INSERT OR REPLACE INTO due_box VALUES (?, ?)", (box, stamp))


def dues_by(store: Store, day: date) -> list[Due]:
    """Return the tasks of open boxes that are due by a day, longest due first."""
    sql = (
        "SELECT d.box, d.task, d.earliest, d.due_on, d.latest, d.urgency, d.reasons FROM due d "
        "JOIN entity b ON b.type = 'box' AND b.id = d.box AND b.open = 1 "
        "WHERE d.due_on <= ? ORDER BY d.due_on, d.box, d.task"
    )
    found = [_due(row) for row in store.rows(sql, (day.isoformat(),))]
    if not store.aside:
        return found
    aside = [due for box in open_boxes(store) if box.id in store.aside for due in store.aside[box.id][1]]
    found = [due for due in found if due.box not in store.aside] + [due for due in aside if due.on <= day]
    return sorted(found, key=lambda due: (due.on, due.box, due.task))


def dues_of(store: Store, box: str) -> list[Due]:
    """Return all tasks of one box, whenever they are due."""
    if box in store.aside:
        return sorted(store.aside[box][1], key=lambda due: (due.on, due.task))
    sql = "SELECT box, task, earliest, due_on, latest, urgency, reasons FROM due WHERE box = ? ORDER BY due_on, task"
    return [_due(row) for row in store.rows(sql, (box,))]


def all_dues(store: Store) -> list[Due]:
    """Return every task of every open box."""
    return dues_by(store, date.max)


def _due_row(due: Due) -> tuple[object, ...]:
    reasons = json.dumps([[r.rule, r.event, r.days, r.text] for r in due.reasons], ensure_ascii=False)
    days = (due.earliest.isoformat(), due.on.isoformat(), due.latest.isoformat())
    return (due.box, due.task, *days, due.urgency, reasons)


def _due(row: tuple[Any, ...]) -> Due:
    reasons = tuple(Reason(*reason) for reason in json.loads(row[6]))
    days = (date.fromisoformat(row[2]), date.fromisoformat(row[3]), date.fromisoformat(row[4]))
    return Due(row[0], row[1], *days, reasons, row[5])


def _marks(values: Sequence[object]) -> str:
    return ", ".join("?" * len(values))


def first_posting_ms(store: Store, cohort: str, stage: str = "") -> int | None:
    """Return when animals of a cohort (in a stage) were first booked into a box, or None."""
    stages = [stage] if stage else list(Stage)
    found = [first for one in stages if (first := store.row(_FIRST_POSTING, (cohort, str(one)))) is not None]
    return int(min(found)[2]) if found else None


# One stage at a time, so that the index brings the first row first, however long the history is.
_FIRST_POSTING = (
    "SELECT visit_ms, phase, at_ms, event_id FROM posting WHERE cohort = ? AND stage = ? AND account = '' "
    "AND delta > 0 ORDER BY visit_ms, phase, at_ms, event_id LIMIT 1"
)


def lost(store: Store, box: str) -> list[tuple[str, int]]:
    """Return the deaths booked at a box as (stage, animals)."""
    sql = "SELECT stage, sum(n) FROM balance WHERE box = ? AND account = 'dead' GROUP BY stage ORDER BY stage"
    return [(row[0], int(row[1])) for row in store.rows(sql, (box,))]


def newest_before(store: Store, box: str, kind: str, before_ms: int) -> Newest | None:
    """Return the newest standing event of a kind at a box that happened up to an instant."""
    sql = (
        "SELECT t.event_id, t.kind, t.key, t.at_ms, t.visit_ms, e.fields "
        "FROM touch t JOIN event e ON e.id = t.event_id "
        "WHERE t.subject_type = 'box' AND t.subject_id = ? AND t.kind = ? AND t.visit_ms <= ? AND t.at_ms <= ? "
        "AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id) "
        "ORDER BY t.visit_ms DESC, t.phase DESC, t.at_ms DESC, t.event_id DESC LIMIT 1"
    )
    row = store.row(sql, (box, kind, before_ms, before_ms))
    return Newest(row[0], row[1], row[2], row[3], row[4], json.loads(row[5])) if row else None


def boxes_that_refuse(store: Store) -> list[str]:
    """Return the open boxes whose newest sign of appetite is that a meal was refused."""
    sql = (
        "SELECT b.id FROM latest l JOIN event e ON e.id = l.event_id "
        "JOIN entity b ON b.type = 'box' AND b.id = l.subject_id "
        "WHERE l.kind = 'appetite' AND l.subject_type = 'box' AND b.open = 1 "
        "AND json_extract(e.fields, '$.appetite') = 'refused' ORDER BY b.id"
    )
    return [row[0] for row in store.rows(sql)]
