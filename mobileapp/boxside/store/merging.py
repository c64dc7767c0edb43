"""Another log's events taken into this one: set union by id, all or nothing, then the state that follows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice

from boxside.core.values.errors import StoreError
from boxside.core.values.event import Event, event_digest
from boxside.store.catching_up import catch_up
from boxside.store.connection import Store
from boxside.store.rows import EVENT_COLUMNS, INSERT_EVENT, event_of, event_row

_PAGE = 1000
_NAMED = 20
_UNDO = "merge_undo"
_REPAIR = "Have the log repaired: `boxside repair`."


@dataclass(slots=True)
class United:
    """What a union brought: how many events were new and known; which ids stand for something else here."""

    n_new: int = 0
    n_known: int = 0
    n_clashes: int = 0
    clashes: list[str] = field(default_factory=list)
    first_row: int = 0


@dataclass(frozen=True, slots=True)
class Undoable:
    """The last merge, while it can be taken back: the snapshot before it, and what it was."""

    snapshot: str
    text: str


def unite(store: Store, events: Iterable[Event]) -> United:
    """Add the events that are not in the log yet, inside the open transaction; the state is left as it was.

    An id that stands for other content here is named and not added: the caller decides what that means.
    """
    found = United(first_row=last_row(store))
    last = found.first_row
    source = iter(events)
    while page := list(islice(source, _PAGE)):
        rows = [event_row(event) for event in page]
        store.run_many(INSERT_EVENT, rows)
        now = last_row(store)
        found.n_new += now - last
        if now - last < len(rows):
            _compare(store, rows, found)
        found.n_known += len(rows) - (now - last)
        last = now
    return found


def merge(store: Store, events: Iterable[Event]) -> United:
    """Add the events that are not in the log yet and bring the state up to date, inside the open transaction."""
    found = unite(store, events)
    if found.n_new:
        catch_up(store, found.first_row)
    return found


def last_row(store: Store) -> int:
    """Return the number of the newest row; rows are numbered without gaps, since none is ever deleted."""
    row = store.row("SELECT max(row) FROM event")
    return int(row[0] or 0) if row else 0


def _compare(store: Store, rows: list[tuple[object, ...]], found: United) -> None:
    digests = {str(row[0]): row[-1] for row in rows}
    marks = ", ".join("?" * len(digests))
    for name, digest in store.rows(f"SELECT id, digest FROM event WHERE id IN ({marks})", list(digests)):
        if bytes(digest) != digests[name]:
            found.n_clashes += 1
            if len(found.clashes) < _NAMED:
                found.clashes.append(name)


def proved(store: Store) -> Iterator[Event]:
    """Yield all events by id, a page at a time, each as it was written.

    Raises
    ------
    StoreError : at the first that is not
    """
    last = ""
    while True:
        sql = f"SELECT {EVENT_COLUMNS}, digest FROM event WHERE id > ? ORDER BY id LIMIT {_PAGE}"
        page = store.rows(sql, (last,))
        for row in page:
            event = event_of(row)
            if event_digest(event) != row[-1]:
                raise StoreError(f"Entry {event.id} is not what was written. Nothing was changed. {_REPAIR}")
            yield event
        if len(page) < _PAGE:
            return
        last = page[-1][0]


def newest_at_ms(store: Store) -> int | None:
    """Return when the newest event happened; None without events."""
    row = store.row("SELECT max(at_ms) FROM event")
    return None if row is None or row[0] is None else int(row[0])


def first_logged_ms(store: Store) -> int | None:
    """Return when the first row was entered; None without events."""
    row = store.row("SELECT logged_ms FROM event ORDER BY row LIMIT 1")
    return int(row[0]) if row else None


def shown_otherwise(store: Store) -> dict[str, tuple[str, str]]:
    """Return the open boxes that share their code with another, as id: (code, how it is shown)."""
    sql = "SELECT id, label, shown FROM entity WHERE type = 'box' AND open = 1 AND shown <> label"
    return {row[0]: (row[1], row[2]) for row in store.rows(sql)}


def later_than(store: Store, first_row: int, ms: int) -> int:
    """Return how many events after a row happened, or were entered, after an instant."""
    sql = "SELECT count(*) FROM event WHERE row > ? AND (at_ms > ? OR logged_ms > ?)"
    row = store.row(sql, (first_row, ms, ms))
    return int(row[0]) if row else 0


def note_undo(store: Store, snapshot: str, text: str) -> None:
    """Note, inside the open transaction, that this merge can be taken back as long as nothing is added."""
    store.set_meta(_UNDO, json.dumps([snapshot, last_row(store), text]))


def undoable(store: Store) -> Undoable | None:
    """Return the last merge if it can still be taken back: nothing was logged, merged or handed on since."""
    try:
        snapshot, row, text = json.loads(store.meta(_UNDO) or "[]")
    except ValueError:
        return None
    return Undoable(str(snapshot), str(text)) if row == last_row(store) else None


def forget_undo(store: Store) -> None:
    """Let the last merge stand, inside the open transaction: what it brought has been handed on."""
    store.set_meta(_UNDO, "")
