"""Undo of several entries that were made at once: all of them, or none."""

from __future__ import annotations

from collections.abc import Sequence

from boxside.actions.list_due import round_view
from boxside.actions.services import Services
from boxside.actions.stamping import stamped
from boxside.actions.void_event import check_unused
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.core.values.views import Notice, Saved
from boxside.store import reading, saving


def undo_flow(services: Services, events: Sequence[str], passed: tuple[str, ...] = ()) -> Saved:
    """Take back all entries of one flow, the last first.

    Raises
    ------
    EntryError : if one is unknown or was taken back before, or made a box that was used since; nothing was changed
    """
    found = [reading.event(services.store, event_id) for event_id in events]
    if not found or any(event is None or event.kind == "void" for event in found):
        raise EntryError("There is no such entry to take back. Nothing was changed.")
    check_unused(services, [event for event in found if event is not None])
    voids = []
    with saving(services.store) as log:
        for event in reversed(found):
            if event is None:
                continue
            standing = reading.struck(services.store, event.id)
            if standing is not None and standing.why == "voided":
                raise EntryError("That entry was taken back before. Nothing was changed.")
            draft = Draft("void", event.subject_type, event.subject_id, visit=event.visit, voids=event.id)
            voids.append(stamped(services, log, draft))
            log.append(voids[-1])
    services.store.checkpoint()
    box = next((e.subject_id for e in found if e is not None and e.subject_type == "box"), "")
    is_box = bool(box) and reading.entity(services.store, "box", box) is not None
    view = round_view(services, passed, box) if is_box else None
    return Saved(voids[-1].id, None, view, Notice(f"Taken back: {len(voids)} entries that were made at once."))
