"""The boxes of an old notebook: those that are there and, where asked for, those that are not or came later."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from boxside.actions.entry import checked
from boxside.actions.labels import MAX_LABEL, check_box_entry
from boxside.actions.notebook_form import Notebook
from boxside.actions.notebook_rows import Row
from boxside.actions.services import Services
from boxside.actions.stamping import new_id, stamped
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Event
from boxside.store import Saving, reading


@dataclass(slots=True)
class Shelf:
    """The box of each code, case-folded; the events that made some, and the reasons why lines have none.

    `new` are (id, code) of boxes that were made, `earlier` the codes of those that now were made earlier.
    """

    found: dict[str, str] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    new: list[tuple[str, str]] = field(default_factory=list)
    earlier: list[str] = field(default_factory=list)
    problems: list[tuple[int, str]] = field(default_factory=list)


def boxes_for(services: Services, log: Saving, notebook: Notebook, rows: Sequence[Row]) -> Shelf:
    """Return the boxes of a notebook's lines, inside the open transaction.

    With `make_boxes`, boxes that are not there are made on the day of their first line, and those that the log has
    only from a later day on are corrected to have been made then: nothing can have been done at a box before it.
    """
    shelf, there = Shelf(), _coded(services)
    by_code: dict[str, list[Row]] = {}
    for row in rows:
        by_code.setdefault(row.code.casefold(), []).append(row)
    for code, own in by_code.items():
        named = [box for box in there.get(code, []) if box.open] or there.get(code, [])
        try:
            shelf.found[code] = _made(services, log, notebook, shelf, own, _only(named))
        except EntryError as error:
            shelf.problems += [(row.line, without_saving(str(error))) for row in own]
    return shelf


def without_saving(text: str) -> str:
    """Return an entry's refusal without that it was not saved: here the whole file says so once."""
    return text.replace(" Nothing was saved.", "")


def _coded(services: Services) -> Mapping[str, list[reading.Entity]]:
    """Return all boxes by the codes that they have or had, case-folded."""
    there: dict[str, list[reading.Entity]] = {}
    for box in reading.entities(services.store, "box"):
        for code in {box.shown.casefold(), box.label.casefold()}:
            there.setdefault(code, []).append(box)
    return there


def _only(named: Sequence[reading.Entity]) -> str:
    if len(named) > 1:
        raise EntryError(f"Several boxes are or were called {named[0].label!r}.")
    return named[0].id if named else ""


def _made(services: Services, log: Saving, notebook: Notebook, shelf: Shelf, rows: Sequence[Row], box: str) -> str:
    """Return the id of a box that was made by its first line, as far as that was asked for."""
    label, wanted = rows[0].code, notebook.mapping.make_boxes
    first_ms = min(row.draft.at_ms or 0 for row in rows)
    if box:
        made_ms = reading.made_ms(services.store, box)
        if wanted and made_ms is not None and first_ms < made_ms:
            _append(services, log, shelf, _earlier(services, box, first_ms))
            shelf.earlier.append(label)
        return box
    if len(label) > MAX_LABEL:
        raise EntryError(f"A code has at most {MAX_LABEL} signs.")
    if not wanted:
        raise EntryError(f"There is no box {label!r}.")
    box = new_id(services, services.clock.now_ms())
    said = Draft("box_made", "box", box, {"label": label}, at_ms=first_ms, note=f"from {notebook.path.name}")
    _append(services, log, shelf, said)
    shelf.new.append((box, label))
    return box


def _earlier(services: Services, box: str, at_ms: int) -> Draft:
    """Return the making of a box, corrected to another time."""
    newest = reading.newest(services.store, "box", [box])[box]
    made = next(item for item in newest if item.kind == "box_made")
    event = reading.event(services.store, made.event)
    note, by = (event.note, event.by) if event else (None, None)
    return Draft("box_made", "box", box, made.fields, at_ms=at_ms, by=by, note=note, replaces=made.event)


def _append(services: Services, log: Saving, shelf: Shelf, draft: Draft) -> None:
    check_box_entry(services, draft)
    event = stamped(services, log, checked(services, draft))
    log.append(event)
    shelf.events.append(event)
