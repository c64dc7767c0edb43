"""Between rows of the log and events."""

from __future__ import annotations

import json
from typing import Any

from boxside.core.values.event import Event, event_digest, fields_text

EVENT_COLUMNS = (
    "id, kind, subject_type, subject_id, visit, at_ms, offset_min, tz, logged_ms, device, seq, "
    "fields, by_whom, note, voids, replaces"
)
# An id that is held already changes nothing, and is then compared; that spares every save a question.
INSERT_EVENT = f"INSERT INTO event ({EVENT_COLUMNS}, digest) VALUES ({', '.join('?' * 17)}) ON CONFLICT (id) DO NOTHING"
PREFIXED_COLUMNS = ", ".join(f"e.{name.strip()}" for name in EVENT_COLUMNS.split(","))


def event_row(event: Event) -> tuple[Any, ...]:
    """Return the row that keeps an event, its digest last."""
    return (
        event.id, event.kind, event.subject_type, event.subject_id, event.visit, event.at_ms,
        event.offset_min, event.tz, event.logged_ms, event.device, event.seq,
        fields_text(event.fields), event.by, event.note, event.voids, event.replaces, event_digest(event),
    )  # fmt: skip


def event_of(row: tuple[Any, ...]) -> Event:
    """Return the event of a row selected by `EVENT_COLUMNS`."""
    parts = (*row[:11], json.loads(row[11]), *row[12:16])
    return Event(*parts)
