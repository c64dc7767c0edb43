"""Undo: an event is taken back by another one; both stay in the history."""

from __future__ import annotations

from boxside.actions.list_due import round_view
from boxside.actions.services import Services
from boxside.actions.stamping import device_id, stamped
from boxside.actions.wording import event_label
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Event
from boxside.core.values.views import Notice, Saved
from boxside.store import reading, saving


def void_event(services: Services, event_id: str, passed: tuple[str, ...] = ()) -> Saved:
    """Take an event back, with every correction built on it.

    Raises
    ------
    EntryError : if there is no such event, or it was taken back before; nothing was changed
    """
    event = reading.event(services.store, event_id)
    if event is None or event.kind == "void":
        raise EntryError("There is no such entry to take back. Nothing was changed.")
    standing = reading.struck(services.store, event_id)
    if standing is not None and standing.why == "voided":
        raise EntryError("That entry was taken back before. Nothing was changed.")
    draft = Draft("void", event.subject_type, event.subject_id, visit=event.visit, voids=event_id)
    with saving(services.store) as log:
        void = stamped(services, log, draft)
        log.append(void)
    services.store.checkpoint()
    is_box = event.subject_type == "box" and reading.entity(services.store, "box", event.subject_id) is not None
    view = round_view(services, passed, event.subject_id) if is_box else None
    return Saved(void.id, None, view, Notice(f"Taken back: {event_label(services, event).lower()}."))


def undo_last(services: Services) -> Event:
    """Take back what this device logged last and still stands; return that event.

    Raises
    ------
    EntryError : if nothing is left to take back
    """
    event = last_own(services)
    if event is None:
        raise EntryError("There is nothing left to take back. Nothing was changed.")
    void_event(services, event.id)
    return event


def last_own(services: Services) -> Event | None:
    """Return this device's newest event that was not taken back."""
    with saving(services.store) as log:
        device = device_id(services, log)
    return reading.last_logged(services.store, device)
