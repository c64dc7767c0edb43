"""Undo: an event is taken back by another one; both stay in the history."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from boxside.actions.list_due import round_view
from boxside.actions.log_event import NOT_SHOWN
from boxside.actions.services import Services
from boxside.actions.stamping import device_id, stamped
from boxside.actions.wording import event_label
from boxside.core.values.errors import EntryError, StoreError
from boxside.core.values.event import Draft, Event
from boxside.core.values.views import Notice, Saved
from boxside.store import reading, saving

_FILLS = ("stocked", "last_fed")
_MANY = 1000


def void_event(services: Services, event_id: str, passed: tuple[str, ...] = ()) -> Saved:
    """Take an event back, with every correction built on it; a new box with what was put into it.

    Raises
    ------
    EntryError : if there is no such event, it was taken back before, or it made a box that was used since;
        nothing was changed
    """
    event = reading.event(services.store, event_id)
    if event is None or event.kind == "void":
        raise EntryError("There is no such entry to take back. Nothing was changed.")
    standing = reading.struck(services.store, event_id)
    if standing is not None and standing.why == "voided":
        raise EntryError("That entry was taken back before. Nothing was changed.")
    voids = []
    with saving(services.store) as log:
        for one in (*_made_with(services, event), event):
            draft = Draft("void", one.subject_type, one.subject_id, visit=one.visit, voids=one.id)
            voids.append(stamped(services, log, draft))
            log.append(voids[-1])
    services.store.checkpoint()
    is_box = event.subject_type == "box" and reading.entity(services.store, "box", event.subject_id) is not None
    notice = Notice(f"Taken back: {event_label(services, event).lower()}.")
    try:
        view = round_view(services, passed, event.subject_id) if is_box else None
    except StoreError:
        return Saved(voids[-1].id, None, None, NOT_SHOWN)
    return Saved(voids[-1].id, None, view, notice)


def _made_with(services: Services, event: Event) -> list[Event]:
    """Return what was entered in one act with a new box, newest first: its animals and their cohort.

    Raises
    ------
    EntryError : if anything else stands at the box: its animals would be nowhere
    """
    if event.kind == "stocked":
        return _begun_with(services, str(event.fields.get("cohort")), event)
    if event.kind != "box_made":
        return []
    at_box = _standing(services, "box", event.subject_id)
    with_it = [e for e in at_box if e.visit == event.visit and e.kind in _FILLS]
    if len(with_it) + 1 < len(at_box):
        raise EntryError(_USED)
    return with_it + [e for one in with_it for e in _begun_with(services, str(one.fields.get("cohort")), one)]


def _begun_with(services: Services, cohort: str, stocked: Event) -> list[Event]:
    """Return the start of a cohort that was begun together with its only animals."""
    entries = _standing(services, "cohort", cohort)
    if any(e.visit != stocked.visit for e in entries) or reading.booked_by(services.store, cohort) != [stocked.id]:
        return []
    return [e for e in entries if e.kind == "cohort_started"]


def check_unused(services: Services, act: Sequence[Event]) -> None:
    """Refuse to take back boxes at which more stands than was entered with them.

    Raises
    ------
    EntryError : saying so
    """
    own = {event.id for event in act}
    for event in act:
        # Without a correction the box is still there, as it was made at first.
        makes = event.kind == "box_made" and event.replaces is None
        if makes and any(e.id not in own for e in _standing(services, "box", event.subject_id)):
            raise EntryError(_USED)


_USED = "That box has later entries. Nothing was changed. Take those back first, or retire the box instead."


def _standing(services: Services, subject_type: str, subject: str) -> list[Event]:
    entries = reading.history(services.store, subject_type, subject, _MANY)
    return [event for event, struck in entries if struck is None and event.kind != "void"]


def undo_last(services: Services) -> Event:
    """Take back what this device logged last and still stands; return that event.

    Raises
    ------
    EntryError : if nothing is left to take back
    """
    event = last_own(services)
    if event is None:
        raise EntryError("There is nothing left to take back. Nothing was changed.")
    act = _act_of(services, event)
    if act.kind == "temperature":
        _take_back_all(services, [event, *_imported_with(services, event)])
    else:
        void_event(services, act.id)
    return act


def _imported_with(services: Services, event: Event) -> list[Event]:
    """Return the other days of a logger's file, which were taken in as one visit, newest first."""
    logged = reading.logged_before(services.store, event.device, event.seq, _MANY)
    return list(itertools.takewhile(lambda one: (one.kind, one.visit) == (event.kind, event.visit), logged))


def _take_back_all(services: Services, events: Sequence[Event]) -> None:
    with saving(services.store) as log:
        for one in events:
            if reading.struck(services.store, one.id) is None:
                draft = Draft("void", one.subject_type, one.subject_id, visit=one.visit, voids=one.id)
                log.append(stamped(services, log, draft))
    services.store.checkpoint()


def _act_of(services: Services, event: Event) -> Event:
    """Return the making of the box where an event was entered in one act with it, else the event."""
    if event.kind not in _FILLS:
        return event
    made = [e for e in _standing(services, "box", event.subject_id) if e.kind == "box_made" and e.visit == event.visit]
    return next((e for e in made if event.seq - e.seq <= len(_FILLS) + 1), event)


def last_own(services: Services) -> Event | None:
    """Return this device's newest event that was not taken back."""
    with saving(services.store) as log:
        device = device_id(services, log)
    return reading.last_logged(services.store, device)
