"""Boxes, cohorts, areas, settings and seasons as the log leaves them: later entries overlay earlier ones."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from boxside.core.ledger import order_key
from boxside.core.values.event import Event, Json, fields_text
from boxside.core.values.vocabulary import Kind
from boxside.store.connection import Store
from boxside.store.filing import Filed, key_of
from boxside.store.rows import PREFIXED_COLUMNS, event_of

_STANDING = f"""
SELECT {PREFIXED_COLUMNS} FROM touch t JOIN event e ON e.id = t.event_id
WHERE t.subject_type = ? AND t.subject_id = ? AND t.kind = ? AND (? = '' OR t.key = ?)
  AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id)
ORDER BY t.visit_ms, t.phase, t.at_ms, t.event_id
"""
INSERT_ENTITY = "INSERT OR REPLACE INTO entity VALUES (?, ?, ?, ?, ?, ?)"


def entity_id(event: Event, kind: Kind) -> str:
    """Return whose settings an event edits: its subject, or what its key names."""
    return key_of(event, kind) if kind.latest_by else event.subject_id


def refresh_entity(store: Store, entry: Filed, kind: Kind) -> None:
    """Read again what one event edits, after it began or ceased to count."""
    kinds = [k for k in store.vocabulary.kinds.values() if k.sets == kind.sets]
    event, key = entry.event, entry.key
    found: list[Event] = []
    for other in kinds:
        values = (event.subject_type, event.subject_id, other.name, key, key)
        found += [event_of(row) for row in store.rows(_STANDING, values)]
    found.sort(key=lambda e: order_key(e, store.vocabulary.get(e.kind)))
    name = entity_id(event, kind)
    before = store.row("SELECT label FROM entity WHERE type = ? AND id = ?", (kind.sets, name))
    if found:
        # Where a key tells several apart, as for settings, the newest entry is all there is: it may say "as before".
        data = overlay(found[-1:] if kind.latest_by else found, store)
        store.run(INSERT_ENTITY, entity_row(kind.sets, name, data))
    else:
        data = {}
        store.run("DELETE FROM entity WHERE type = ? AND id = ?", (kind.sets, name))
    if kind.sets == "box":
        for label in {str(data.get("label", "")), str(before[0]) if before else ""}:
            show_labels(store, label)


def overlay(events: Iterable[Event], store: Store) -> dict[str, Json]:
    """Return the fields that the last entry to state each of them left."""
    data: dict[str, Json] = {}
    for event in events:
        kind = store.vocabulary.get(event.kind)
        stated = {f.name: f.default for f in kind.fields if f.default is not None} if kind else {}
        changed = kind is not None and kind.name.endswith("_changed")
        data.update({} if changed else stated)
        data.update(event.fields)
    return data


def entity_row(entity_type: str, name: str, data: dict[str, Json]) -> tuple[object, ...]:
    """Return the row that keeps an entity."""
    label = str(data.get("label") or data.get("name") or name)
    return (entity_type, name, label, label, int(not data.get("retired")), fields_text(data))


def show_labels(store: Store, label: str) -> None:
    """Tell apart open boxes with one code, as a merge can bring: the later ones show a number behind it."""
    sql = "SELECT id FROM entity WHERE type = 'box' AND open = 1 AND label = ? ORDER BY id"
    for nth, (name,) in enumerate(store.rows(sql, (label,)), start=1):
        shown = label if nth == 1 else f"{label}·{nth}"
        store.run("UPDATE entity SET shown = ? WHERE type = 'box' AND id = ? AND shown <> ?", (shown, name, shown))


def parsed(texts: Sequence[str]) -> list[Any]:
    """Return what many short JSON texts say; one parse of them all costs a fraction of one each."""
    found: list[Any] = json.loads(f"[{','.join(texts)}]")
    return found


def data_of(text: str) -> dict[str, Json]:
    """Return an entity's fields from its row."""
    data: dict[str, Json] = json.loads(text)
    return data
