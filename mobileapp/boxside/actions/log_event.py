"""One thing seen or done, logged: in one transaction, or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from boxside.actions.context import today
from boxside.actions.corrections import correction_for, with_clutch
from boxside.actions.dues import tasks_of
from boxside.actions.entry import check_against_box, check_later, checked, later_surplus
from boxside.actions.labels import check_box_entry
from boxside.actions.list_due import round_view
from boxside.actions.services import Services
from boxside.actions.stamping import stamped
from boxside.actions.wording import event_label
from boxside.core.values.errors import EntryError, StoreError
from boxside.core.values.event import Draft, Event
from boxside.core.values.views import Notice, Saved, Undo
from boxside.store import Saving, reading, saving

_MOST = 20

_OF_THE_LINE = ("introduced", "cohort_started", "cohort_changed")


def log_event(services: Services, draft: Draft, passed: tuple[str, ...] = (), as_correction: bool = False) -> Saved:
    """Log what a keeper saw or did and return the box as it now is.

    Parameters
    ----------
    passed : ids of the boxes that this round has left behind
    as_correction : where fewer animals are expected than were entered, first book what must have happened
        unseen, as an entry of its own, instead of refusing

    Raises
    ------
    EntryError : if it cannot be so; nothing was saved
    StoreError : if the log cannot be written; nothing was saved
    """
    was_due = is_due(services, draft.subject_id) if draft.subject_type == "box" else False
    event = log_all(services, [draft], as_correction)[-1]
    return saved(services, event, passed, was_due)


def log_together(services: Services, drafts: Sequence[Draft], passed: tuple[str, ...] = ()) -> Saved:
    """Log several entries at one box, all or none; one undo takes all of them back.

    Raises
    ------
    EntryError : if one of them cannot be so; nothing was saved
    """
    if not drafts:
        raise EntryError("Nothing was entered. Nothing was saved.")
    was_due = is_due(services, drafts[-1].subject_id)
    events = log_all(services, drafts)
    return saved(services, events[-1], passed, was_due, events)


def log_all(services: Services, drafts: Iterable[Draft], as_correction: bool = False) -> list[Event]:
    """Log several drafts, all or none; later ones may speak of boxes and cohorts that earlier ones make.

    With `as_correction`, what must have happened unseen is booked before the draft that needs it.
    """
    events: list[Event] = []
    with saving(services.store) as log:
        for draft in drafts:
            events += _appended(services, log, draft, as_correction)
    services.store.checkpoint()
    return events


def _appended(services: Services, log: Saving, draft: Draft, as_correction: bool) -> list[Event]:
    """Append a draft, after the corrections it needs; return all that was appended."""
    events: list[Event] = []
    draft = with_clutch(services, draft)
    event = stamped(services, log, checked(services, draft))
    check_box_entry(services, draft)
    # Each correction books at least one animal of an earlier stage or instar, so this ends.
    while as_correction and (correction := correction_for(services, event)) is not None and len(events) < _MOST:
        events += _appended(services, log, correction, as_correction)
        event = stamped(services, log, checked(services, draft))
    if event.kind in _OF_THE_LINE:
        # Kinship needs numpy; a round that feeds and mists does not.
        from boxside.actions.line_entry import check_line

        check_line(services, event)
    if event.replaces is None:
        check_against_box(services, event)
    before = later_surplus(services, event)
    log.append(event)
    if not as_correction:
        check_later(services, event, before)
    return [*events, event]


def saved(services: Services, event: Event, passed: tuple[str, ...], was_due: bool, act: Sequence[Event] = ()) -> Saved:
    """Return what came of a save: the undo, the box as it now is, and whether that was its last due task.

    `act` are all entries that were made at once and are taken back at once.
    The entry is on the disk by now: where the box cannot be shown, that is said, and never that nothing was saved.
    """
    undo = Undo(event.id, event_label(services, event), tuple(e.id for e in act) if len(act) > 1 else ())
    try:
        if event.subject_type != "box" or reading.entity(services.store, "box", event.subject_id) is None:
            return Saved(event.id, undo, None)
        is_done = was_due and not is_due(services, event.subject_id)
        return Saved(event.id, undo, round_view(services, passed, event.subject_id), box_done=is_done)
    except StoreError:
        return Saved(event.id, undo, None, NOT_SHOWN)


NOT_SHOWN = Notice(
    "It is saved, but what is due now could not be worked out.",
    "The entry is on the disk.",
    "Free some space, then open the round again.",
    bad=True,
)


def is_due(services: Services, box: str) -> bool:
    """Return whether anything is due at a box today."""
    day = today(services)
    return any(due.on <= day for due in tasks_of(services, box))
