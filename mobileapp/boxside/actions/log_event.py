"""One thing seen or done, logged: in one transaction, or not at all."""

from __future__ import annotations

from collections.abc import Iterable

from boxside.actions.context import today
from boxside.actions.dues import tasks_of
from boxside.actions.entry import check_against_box, checked
from boxside.actions.labels import check_box_entry
from boxside.actions.line_entry import check_line
from boxside.actions.list_due import round_view
from boxside.actions.services import Services
from boxside.actions.stamping import stamped
from boxside.actions.wording import event_label
from boxside.core.values.event import Draft, Event
from boxside.core.values.views import RoundView, Saved, Undo
from boxside.store import Saving, reading, saving


def log_event(services: Services, draft: Draft, passed: tuple[str, ...] = ()) -> Saved:
    """Log what a keeper saw or did and return the box as it now is.

    Raises
    ------
    EntryError : if it cannot be so; nothing was saved
    StoreError : if the log cannot be written; nothing was saved
    """
    was_due = is_due(services, draft.subject_id) if draft.subject_type == "box" else False
    (event,) = log_all(services, [draft])
    return saved(services, event, passed, was_due)


def log_all(services: Services, drafts: Iterable[Draft]) -> list[Event]:
    """Log several drafts, all or none; later ones may speak of boxes and cohorts that earlier ones make."""
    with saving(services.store) as log:
        events = [_append(services, log, draft) for draft in drafts]
    services.store.checkpoint()
    return events


def _append(services: Services, log: Saving, draft: Draft) -> Event:
    event = stamped(services, log, checked(services, draft))
    check_box_entry(services, draft)
    check_line(services, event)
    if event.replaces is None:
        check_against_box(services, event)
    log.append(event)
    return event


def saved(services: Services, event: Event, passed: tuple[str, ...], was_due: bool) -> Saved:
    """Return what came of a save: the undo, the box as it now is, and whether that was its last due task."""
    view: RoundView | None = None
    is_done = False
    if event.subject_type == "box" and reading.entity(services.store, "box", event.subject_id):
        is_done = was_due and not is_due(services, event.subject_id)
        view = round_view(services, passed, event.subject_id)
    return Saved(event.id, Undo(event.id, event_label(services, event)), view, box_done=is_done)


def is_due(services: Services, box: str) -> bool:
    """Return whether anything is due at a box today."""
    day = today(services)
    return any(due.on <= day for due in tasks_of(services, box))
