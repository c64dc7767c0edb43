"""Which subjects an event concerns, in the order of history; and the newest of each kind."""

from __future__ import annotations

from collections.abc import Iterator

from boxside.core.ledger import order_key, touched_boxes
from boxside.core.values.event import Event
from boxside.core.values.vocabulary import FieldType, Kind
from boxside.store.connection import Store

INSERT_TOUCH = "INSERT OR IGNORE INTO touch VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
UPSERT_LATEST = """
INSERT INTO latest VALUES (?, ?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (subject_type, subject_id, kind, key) DO UPDATE SET visit_ms = excluded.visit_ms,
  phase = excluded.phase, at_ms = excluded.at_ms, event_id = excluded.event_id
WHERE (excluded.visit_ms, excluded.phase, excluded.at_ms, excluded.event_id)
    > (latest.visit_ms, latest.phase, latest.at_ms, latest.event_id)
"""
_NEWEST = """
SELECT t.visit_ms, t.phase, t.at_ms, t.event_id FROM touch t
WHERE t.subject_type = ? AND t.subject_id = ? AND t.kind = ? AND t.key = ?
  AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id)
ORDER BY t.visit_ms DESC, t.phase DESC, t.at_ms DESC, t.event_id DESC LIMIT 1
"""


def subjects(event: Event, kind: Kind | None) -> tuple[tuple[str, str], ...]:
    """Return every subject an event concerns as (type, id), its own first."""
    found = [(event.subject_type, event.subject_id)]
    found += [("box", box) for box in touched_boxes(event, kind)]
    for field in kind.fields if kind else ():
        value = event.fields.get(field.name)
        if field.type is FieldType.COHORT and isinstance(value, str) and value:
            found.append(("cohort", value))
    return tuple(dict.fromkeys(found))


def key_of(event: Event, kind: Kind | None) -> str:
    """Return what tells apart several newest events of one kind, such as the task that is put off."""
    if kind is None or not kind.latest_by:
        return ""
    value = event.fields.get(kind.latest_by)
    return value if isinstance(value, str) else ""


def touch_rows(event: Event, kind: Kind | None) -> Iterator[tuple[object, ...]]:
    """Yield the rows that file an event under each of its subjects."""
    place = order_key(event, kind)
    moves = int(kind is not None and bool(kind.moves or kind.census))
    key = key_of(event, kind)
    for subject_type, subject_id in subjects(event, kind):
        ledger = moves if subject_type == "box" else 0
        yield (
            subject_type, subject_id, place.visit_ms, place.phase, place.at_ms, event.id,
            event.kind, key, ledger,
        )  # fmt: skip


def latest_rows(event: Event, kind: Kind | None) -> Iterator[tuple[object, ...]]:
    """Yield the rows by which an event may become the newest of its kind."""
    place = order_key(event, kind)
    for subject_type, subject_id in subjects(event, kind):
        yield (
            subject_type, subject_id, event.kind, key_of(event, kind),
            place.visit_ms, place.phase, place.at_ms, event.id,
        )  # fmt: skip


def refresh_latest(store: Store, event: Event, kind: Kind | None, counts: bool) -> None:
    """Bring the newest of each kind up to date after an event began or ceased to count."""
    if counts:
        for row in latest_rows(event, kind):
            store.run(UPSERT_LATEST, row)
        return
    for subject_type, subject_id in subjects(event, kind):
        what = (subject_type, subject_id, event.kind, key_of(event, kind))
        where = "subject_type = ? AND subject_id = ? AND kind = ? AND key = ?"
        gone = store.run(f"DELETE FROM latest WHERE {where} AND event_id = ?", (*what, event.id))
        if gone and (newest := store.row(_NEWEST, what)):
            store.run(UPSERT_LATEST, (*what, *newest))
