"""A fresh box for animals that move: with a code of its own, or with the code of the box it takes the place of."""

from __future__ import annotations

import re

from boxside.actions.labels import MAX_LABEL
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.store import reading
from boxside.store.reading import Entity, Newest

OLD = " old"
_CARRIED = (("rest_began", "rest_ended"), ("quarantine_began", "quarantine_ended"))


def fresh_box(services: Services, box: Entity, label: str, visit: str, at_ms: int | None) -> list[Draft]:
    """Return the entries that make a fresh box in the place of, or beside, the one that animals leave.

    It stands in the same area, lined and ventilated alike. Given the old box's own code it takes the code and the
    position over, and the old box is called `B07 old` from then on. A winter rest or a quarantine of the old box
    that has not ended begins in the fresh one, as it moves with the animals.
    """
    is_renewal = label.upper() in (box.label.upper(), box.shown.upper())
    drafts = []
    if is_renewal:
        fields: dict[str, Json] = {"label": old_label(services, box)}
        drafts.append(Draft("box_changed", "box", box.id, fields, at_ms=at_ms, visit=visit))
        label = box.label
    fresh = new_id(services, services.clock.now_ms())
    kept = ("area", "substrate", "vents", "position") if is_renewal else ("area", "substrate", "vents")
    said: dict[str, Json] = {"label": label, **{name: box.data.get(name) for name in kept}}
    drafts.append(Draft("box_made", "box", fresh, said, at_ms=at_ms, visit=visit))
    for begun in _lasting(services, box.id):
        drafts.append(Draft(begun.kind, "box", fresh, dict(begun.fields), at_ms=at_ms, visit=visit))
    return drafts


def old_label(services: Services, box: Entity) -> str:
    """Return a free code for a box whose own code goes to a fresh one."""
    for n in range(1, 100):
        end = OLD if n == 1 else f"{OLD}{n}"
        label = box.label[: MAX_LABEL - len(end)] + end
        if not reading.boxes_labelled(services.store, label):
            return label
    raise EntryError(f"Too many old boxes {box.label} are still open. Nothing was saved. Confirm that they are empty.")


def is_old_label(label: str) -> bool:
    """Return whether a code says that a fresh box took the place of this one.

    Examples
    --------
    >>> is_old_label("B07 old2"), is_old_label("B07")
    (True, False)
    """
    return re.search(rf"{OLD}\d*$", label) is not None


def _lasting(services: Services, box: str) -> list[Newest]:
    """Return the rest and the quarantine of a box that have begun and not ended."""
    newest = {item.kind: item for item in reading.newest(services.store, "box", [box])[box]}
    found = []
    for began, ended in _CARRIED:
        first, last = newest.get(began), newest.get(ended)
        if first is not None and (last is None or (last.at_ms, last.event) < (first.at_ms, first.event)):
            found.append(first)
    return found
