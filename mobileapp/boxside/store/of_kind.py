"""All standing events of one kind at a subject, in the order of history."""

from __future__ import annotations

from boxside.core.values.event import Event
from boxside.store.connection import Store
from boxside.store.rows import PREFIXED_COLUMNS, event_of


def standing_of_kind(store: Store, subject_type: str, subject_id: str, kind: str) -> list[Event]:
    """Return the events of a kind that concern a box or a cohort and were neither taken back nor replaced."""
    sql = f"""
    SELECT {PREFIXED_COLUMNS} FROM touch t JOIN event e ON e.id = t.event_id
    WHERE t.subject_type = ? AND t.subject_id = ? AND t.kind = ?
    AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id)
    ORDER BY t.visit_ms, t.phase, t.at_ms, t.event_id
    """
    return [event_of(row) for row in store.rows(sql, (subject_type, subject_id, kind))]
