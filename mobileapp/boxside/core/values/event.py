"""The event: one thing seen or done, the unit of every record, never changed once written."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field

from boxside.core.values.ids import uuid7_ms

Json = None | bool | int | float | str | list["Json"] | dict[str, "Json"]


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of the log.

    `subject_type` is box, area, cohort, prey or colony; `visit` is shared by the acts of one stop at
    one box and, being a UUIDv7 made from the visit's first moment, carries when that visit began;
    `at_ms` is when it happened, `logged_ms` when it was entered, both milliseconds UTC; `offset_min`
    is the offset in force where it happened and `tz` the IANA zone; `seq` counts per `device`.
    """

    id: str
    kind: str
    subject_type: str
    subject_id: str
    visit: str
    at_ms: int
    offset_min: int
    tz: str
    logged_ms: int
    device: str
    seq: int
    fields: Mapping[str, Json] = field(default_factory=dict)
    by: str | None = None
    note: str | None = None
    voids: str | None = None
    replaces: str | None = None

    @property
    def visit_ms(self) -> int:
        """When its visit began; the event's own time where the visit's id does not say."""
        began = uuid7_ms(self.visit)
        return self.at_ms if began is None else began


@dataclass(frozen=True, slots=True, order=True)
class OrderKey:
    """Where an event stands in the history: visit start, phase, time, id."""

    visit_ms: int
    phase: int
    at_ms: int
    id: str


@dataclass(frozen=True, slots=True)
class Draft:
    """What a keeper means to log, before it has an id and a place in the log.

    `at_ms` None means now; `visit` None opens a visit of its own; `voids` and `replaces` name events.
    """

    kind: str
    subject_type: str
    subject_id: str
    fields: Mapping[str, Json] = field(default_factory=dict)
    at_ms: int | None = None
    visit: str | None = None
    by: str | None = None
    note: str | None = None
    voids: str | None = None
    replaces: str | None = None


_ORDER = (
    "id", "kind", "subject_type", "subject_id", "visit", "at_ms", "offset_min", "tz",
    "logged_ms", "device", "seq", "fields", "by", "note", "voids", "replaces",
)  # fmt: skip


def fields_text(fields: Mapping[str, Json]) -> str:
    """Return the kind's own fields as canonical JSON: sorted keys, no blanks, nulls left out."""
    kept = {key: value for key, value in fields.items() if value is not None}
    return json.dumps(kept, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def event_digest(event: Event) -> bytes:
    """Return the sha256 of an event's canonical form: what proves that a row is what was written."""
    row = [getattr(event, name) if name != "fields" else fields_text(event.fields) for name in _ORDER]
    text = json.dumps(row, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()
