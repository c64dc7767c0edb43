"""An old notebook taken into the log: shown first, every reason by line, all lines or none, taken back as one step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from boxside.actions.context import zone_of
from boxside.actions.corrections import balances_at
from boxside.actions.entry import check_against_box, check_later, checked, later_surplus
from boxside.actions.notebook_boxes import boxes_for, without_saving
from boxside.actions.notebook_form import FIELD, Notebook, kinds_for_notebooks, read_notebook, remembering
from boxside.actions.notebook_rows import Row, rows_of
from boxside.actions.services import Services
from boxside.actions.stamping import new_id, stamped
from boxside.actions.wording import event_detail, event_label, moment_text
from boxside.core.tables import ROLES
from boxside.core.values.carry import NotebookMapping, NotebookRow, NotebookView
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Event, fields_text
from boxside.core.values.moments import DAY_MS
from boxside.core.values.season import Flow
from boxside.core.values.views import Notice, Saved, Undo
from boxside.store import Saving, reading, saving, trying
from boxside.store.scope import FIRST_MS, LAST_MS, Scope

_SAMPLE, _NAMED = 8, 50
_ROLE_LABELS = {
    "date": "Date", "time": "Time of day", "box": "Box", "kind": "What was done", "amount": "How many, or how much",
    "note": "Note", "by": "Who",
}  # fmt: skip
_OFFERED = ("prey", "batch", "cause", "stage", "instar", "sex", "n", "amount", "now_c", "min_c", "max_c")


@dataclass(slots=True)
class _Taken:
    """What came of the lines of a notebook within a transaction."""

    events: list[tuple[int, Event]] = field(default_factory=list)
    boxes: list[tuple[str, str]] = field(default_factory=list)
    earlier: list[str] = field(default_factory=list)
    made: list[Event] = field(default_factory=list)
    problems: list[tuple[int, str]] = field(default_factory=list)
    sample: list[NotebookRow] = field(default_factory=list)
    n_known: int = 0
    n_passed: int = 0


def notebook_view(services: Services, path: Path, mapping: NotebookMapping | None = None) -> NotebookView:
    """Return how a notebook would be read, and what would come of it; nothing is kept.

    Parameters
    ----------
    mapping : which column is what; None for what is remembered of a notebook with these columns, else a guess

    Raises
    ------
    EntryError : if it is no text, has no line, or the mapping names a column that is not there
    StoreError : if the log cannot be written, so that nothing could be imported
    """
    notebook = read_notebook(services, path, mapping)
    taken = _Taken() if notebook.question else _tried(services, notebook)
    return NotebookView(
        path=str(path),
        columns=notebook.columns,
        cells=tuple(tuple(cells) for _, cells in notebook.lines[:_SAMPLE]),
        roles=_roles(services, notebook.mapping),
        kinds=tuple((kind.name, kind.said) for kind in kinds_for_notebooks(services)),
        mapping=notebook.mapping,
        remembered=notebook.remembered,
        words=notebook.words,
        question=notebook.question,
        n_rows=len(notebook.lines),
        n_new=len(taken.events),
        n_known=taken.n_known,
        n_passed=taken.n_passed,
        new_boxes=tuple(label for _, label in taken.boxes),
        earlier_boxes=tuple(taken.earlier),
        sample=tuple(taken.sample),
        problems=tuple(sorted(taken.problems)[:_NAMED]),
        n_problems=len(taken.problems),
    )


def notebook_form_of(services: Services, path: Path) -> Notebook:
    """Return how a notebook would be read if nothing more is said: as remembered, else as guessed."""
    return read_notebook(services, path, None)


def import_notebook(services: Services, path: Path, mapping: NotebookMapping | None = None) -> Flow:
    """Log every line of a notebook, all or none, and remember how it was read.

    Lines that an earlier import has brought already are left alone, so that a longer notebook can be imported again.

    Raises
    ------
    EntryError : with the line and the reason, if anything cannot be taken; nothing was imported
    StoreError : if the log cannot be written; nothing was imported
    """
    notebook = read_notebook(services, path, mapping)
    if notebook.question:
        raise EntryError(f"{path.name}: {notebook.question} Nothing was imported.")
    with saving(services.store) as log:
        taken = _take(services, log, notebook)
        _refuse(path, taken)
        if not notebook.remembered:
            log.append(stamped(services, log, checked(services, remembering(notebook))))
    services.store.checkpoint()
    events = tuple(event.id for event in (*taken.made, *(event for _, event in taken.events)))
    n = len(taken.events)
    label = f"{n} line{'' if n == 1 else 's'} of {path.name}"
    left = f" {taken.n_known} were in the log already." if taken.n_known else ""
    notice = Notice(f"Imported: {label}.{left}", "It can be taken back as one step.")
    return Flow(Saved(events[-1], Undo(events[-1], label), None), events, tuple(taken.boxes), notice)


def _refuse(path: Path, taken: _Taken) -> None:
    if taken.problems:
        line, reason = min(taken.problems)
        more = len(taken.problems) - 1
        also = f" {more} more line{'s' if more > 1 else ''} cannot be taken either." if more else ""
        raise EntryError(f"{path.name}, line {line}: {reason}{also} Nothing was imported.")
    if not taken.events:
        known = f"its {taken.n_known} lines are in the log already" if taken.n_known else "no line is to be taken"
        raise EntryError(f"{path.name}: {known}. Nothing was imported.")


def _tried(services: Services, notebook: Notebook) -> _Taken:
    """Return what would come of a notebook: it is taken in and taken back again."""
    with trying(services.store) as log:
        return _take(services, log, notebook)


def _take(services: Services, log: Saving, notebook: Notebook) -> _Taken:
    taken = _Taken()
    rows, taken.problems, taken.n_passed = rows_of(services, notebook)
    shelf = boxes_for(services, log, notebook, rows)
    boxes = shelf.found
    taken.problems += shelf.problems
    taken.made, taken.boxes, taken.earlier = shelf.events, shelf.new, shelf.earlier
    known = _known(services, sorted(set(boxes.values())), rows)
    visits: dict[tuple[str, int], str] = {}
    for row in rows:
        if row.code.casefold() not in boxes:
            continue
        draft = replace(row.draft, subject_id=boxes[row.code.casefold()])
        stop = (draft.subject_id, draft.at_ms or 0)
        visits.setdefault(stop, new_id(services, draft.at_ms or 0))
        try:
            _log(services, log, replace(draft, visit=visits[stop]), row, taken, known)
        except EntryError as error:
            taken.problems.append((row.line, without_saving(str(error))))
    return taken


def _log(
    services: Services, log: Saving, draft: Draft, row: Row, taken: _Taken, known: set[tuple[object, ...]]
) -> None:
    event = stamped(services, log, checked(services, draft))
    mark = _mark(event)
    if mark in known:
        taken.n_known += 1
        return
    _check(services, event)
    before = later_surplus(services, event)
    log.append(event)
    check_later(services, event, before)
    taken.events.append((row.line, event))
    if len(taken.sample) < _SAMPLE:
        when = moment_text(event.at_ms, zone_of(services), services.clock.now_ms())
        detail = event_detail(services, event)
        taken.sample.append(NotebookRow(row.line, when, row.code, event_label(services, event), detail))


def _check(services: Services, event: Event) -> None:
    """Refuse what moves or counts animals that were not there yet: it would add them to those that came later.

    What only says what was done, such as a feeding, is kept from before the first animals of the log too.
    """
    kind = services.catalog.vocabulary.kinds[event.kind]
    if not kind.moves and not kind.census:
        return
    check_against_box(services, event)
    if kind.census and not balances_at(services, event, kind):
        raise EntryError(
            f"{kind.said} in a box that had no animals in this log at that time: they would come on top of those "
            "that came later. Pass the line over, or let a line before it say when animals were added."
        )


def _known(services: Services, boxes: Sequence[str], rows: Sequence[Row]) -> set[tuple[object, ...]]:
    """Return what the log holds at these boxes in the notebook's time, to tell lines that were imported before."""
    if not rows or not boxes:
        return set()
    times = [row.draft.at_ms or 0 for row in rows]
    scope = Scope(tuple((box, FIRST_MS, LAST_MS) for box in boxes))
    span = (min(times), max(times) + DAY_MS // 24)
    return {_mark(event) for event, struck in reading.stream(services.store, *span, scope=scope) if struck is None}


def _mark(event: Event) -> tuple[object, ...]:
    # Who it was may follow from a setting, and another one by now.
    return (event.subject_id, event.kind, event.at_ms, fields_text(event.fields), event.note)


def _roles(services: Services, mapping: NotebookMapping) -> tuple[tuple[str, str], ...]:
    """Return what a column can be: the roles, the fields that are often noted, and those that were chosen."""
    labels = {field.name: field.label for kind in kinds_for_notebooks(services) for field in kind.fields}
    chosen = [role.removeprefix(FIELD) for role, _ in mapping.columns if role.startswith(FIELD)]
    names = dict.fromkeys((*_OFFERED, *chosen))
    fields = tuple((f"{FIELD}{name}", labels.get(name, name)) for name in names if name in labels)
    return (*((role, _ROLE_LABELS[role]) for role in ROLES), *fields)
