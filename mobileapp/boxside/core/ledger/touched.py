"""Which boxes an event concerns, and where it stands in the history."""

from __future__ import annotations

from boxside.core.values.event import Event, OrderKey
from boxside.core.values.vocabulary import FieldType, Kind


def order_key(event: Event, kind: Kind | None) -> OrderKey:
    """Return the event's place: visit start, phase (removals, moves, counts), time, id."""
    return OrderKey(event.visit_ms, 1 if kind is None else kind.phase, event.at_ms, event.id)


def box_of(event: Event) -> str:
    """Return the box that an event is about: its subject, or the box its fields name; else empty."""
    if event.subject_type == "box":
        return event.subject_id
    named = event.fields.get("box")
    return named if isinstance(named, str) else ""


def touched_boxes(event: Event, kind: Kind | None) -> tuple[str, ...]:
    """Return all boxes an event concerns, its own first: both ends of a transfer, each part of a blend."""
    boxes = [box_of(event)]
    for field in kind.fields if kind else ():
        value = event.fields.get(field.name)
        if field.type is FieldType.BOX and isinstance(value, str):
            boxes.append(value)
        elif field.type is FieldType.PARTS and isinstance(value, list):
            parts = [part.get("from_box") for part in value if isinstance(part, dict)]
            boxes.extend(part for part in parts if isinstance(part, str))
    return tuple(dict.fromkeys(box for box in boxes if box))
