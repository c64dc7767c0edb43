"""A correction: a new event takes the place of an old one, which stays visible."""

from __future__ import annotations

from collections.abc import Mapping

from boxside.actions.entry import check_against_box, checked
from boxside.actions.labels import check_box_entry
from boxside.actions.log_event import saved
from boxside.actions.services import Services
from boxside.actions.stamping import stamped
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.views import Saved
from boxside.store import reading, saving


def correct_event(
    services: Services,
    event_id: str,
    fields: Mapping[str, Json],
    at_ms: int | None = None,
    note: str | None = None,
) -> Saved:
    """Put other fields, another time or another note in place of an entry's.

    Parameters
    ----------
    fields : the entry's fields as they should read; those left out go back to what is declared
    at_ms : when it happened; None keeps the time
    note : the note; None keeps it

    Raises
    ------
    EntryError : if the entry is unknown, was taken back or corrected already, or does not fit
    """
    event = reading.event(services.store, event_id)
    if event is None or event.kind == "void" or services.catalog.vocabulary.get(event.kind) is None:
        raise EntryError("There is no such entry to correct. Nothing was changed.")
    if reading.struck(services.store, event_id) is not None:
        raise EntryError("That entry was corrected or taken back before. Nothing was changed. Correct the newest one.")
    moved = at_ms is not None and at_ms != event.at_ms
    draft = Draft(
        kind=event.kind, subject_type=event.subject_type, subject_id=event.subject_id, fields=dict(fields),
        at_ms=at_ms if at_ms is not None else event.at_ms, visit=None if moved else event.visit, by=event.by,
        note=event.note if note is None else note, replaces=event_id,
    )  # fmt: skip
    with saving(services.store) as log:
        corrected = stamped(services, log, checked(services, draft))
        check_box_entry(services, draft)
        log.append(corrected)
        # Only now is the old entry out of the ledger: what does not fit without it takes all back.
        check_against_box(services, corrected)
    services.store.checkpoint()
    return saved(services, corrected, (), was_due=False)
