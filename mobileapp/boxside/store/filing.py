"""Where an event belongs: its kind, its place in the history, its boxes and subjects, worked out once."""

from __future__ import annotations

from dataclasses import dataclass

from boxside.core.ledger import order_key, touched_boxes
from boxside.core.values.event import Event, OrderKey
from boxside.core.values.vocabulary import FieldType, Kind, Vocabulary

Place = tuple[int, int, int, str]


@dataclass(frozen=True, slots=True)
class Filed:
    """An event with what follows from it and its kind alone.

    `kind` is None for one that a newer app has written; `key` tells apart several newest events of one
    kind, such as the task that is put off; `subjects` are (type, id), the event's own first.
    """

    event: Event
    kind: Kind | None
    place: Place
    boxes: tuple[str, ...]
    key: str
    subjects: tuple[tuple[str, str], ...]

    @property
    def is_booked(self) -> bool:
        """Whether the event can move or count animals: its kind does, and it names a box."""
        return self.kind is not None and bool(self.kind.moves or self.kind.census) and bool(self.boxes)


def filed(event: Event, vocabulary: Vocabulary) -> Filed:
    """Return where an event belongs."""
    kind = vocabulary.get(event.kind)
    boxes = touched_boxes(event, kind)
    return Filed(
        event, kind, place_of(order_key(event, kind)), boxes, key_of(event, kind), _subjects(event, kind, boxes)
    )


def place_of(key: OrderKey) -> Place:
    """Return an order key as the tuple that SQL compares."""
    return (key.visit_ms, key.phase, key.at_ms, key.id)


def key_of(event: Event, kind: Kind | None) -> str:
    """Return what tells apart several newest events of one kind; empty where nothing does."""
    if kind is None or not kind.latest_by:
        return ""
    value = event.fields.get(kind.latest_by)
    return value if isinstance(value, str) else ""


def _subjects(event: Event, kind: Kind | None, boxes: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    found = [(event.subject_type, event.subject_id)]
    found += [("box", box) for box in boxes]
    for field in kind.fields if kind else ():
        value = event.fields.get(field.name) if field.type is FieldType.COHORT else None
        if isinstance(value, str) and value:
            found.append(("cohort", value))
    return tuple(dict.fromkeys(found))
