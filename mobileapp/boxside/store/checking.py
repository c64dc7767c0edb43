"""Whether the log is what was written: SQLite's own check, every row against its digest, the state against the log."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from boxside.core.values.event import Event, event_digest
from boxside.store.connection import SQLITE_ERRORS, Store
from boxside.store.rebuild import rebuild, state_digest
from boxside.store.rows import EVENT_COLUMNS, event_of

_PAGE = 1000
_NAMED = 10


@dataclass(slots=True)
class Rows:
    """The rows of the log: how many there are, which are not what was written, how many are not there."""

    n: int = 0
    n_bad: int = 0
    n_gone: int = 0
    bad: list[str] = field(default_factory=list)

    def add_bad(self, name: object) -> None:
        """Count a row that is not what was written."""
        self.n_bad += 1
        if len(self.bad) < _NAMED:
            self.bad.append(name.decode("utf-8", "replace") if isinstance(name, bytes) else str(name))


def structure_fault(store: Store) -> str:
    """Return the first thing that SQLite finds wrong with the file, its indexes included; empty where all is well."""
    try:
        found = store.row("PRAGMA integrity_check(1)")
    except SQLITE_ERRORS as error:
        return str(error)
    return "" if found == ("ok",) else str(found[0] if found else "no answer")


def notes_fault(store: Store) -> str:
    """Return that the log's notes about itself are not what was written; empty where they are."""
    try:
        return "" if store.meta_is_as_written() else "the notes of the log about itself are not what was written"
    except SQLITE_ERRORS as error:
        return str(error)


def check_rows(path: Path) -> Rows:
    """Read every row of a log and compare it with its digest: SQLite's own checks miss most flipped bits.

    Rows are numbered without gaps, since none is ever deleted: a number that is missing is a row that is gone.
    """
    found, last = Rows(), 0
    for row in _raw_rows(path):
        found.n += 1
        if row[0] != last + 1:
            found.n_gone += max(0, row[0] - last - 1)
            if row[0] <= last:
                found.add_bad(row[1])
        last = row[0]
        if not is_as_written(row[1:]):
            found.add_bad(row[1])
    return found


def is_as_written(row: tuple[Any, ...]) -> bool:
    """Return whether a row of the log, its digest last, is what was written."""
    return event_as_written(row) is not None


def event_as_written(row: tuple[Any, ...]) -> Event | None:
    """Return the event of a row of the log, its digest last; None where the row is not what was written.

    Texts may come as bytes, since a flipped bit can leave what is no text.
    """
    try:
        values = tuple(value.decode("utf-8") if isinstance(value, bytes) else value for value in row[:-1])
        event = event_of(values)
        return event if event_digest(event) == row[-1] else None
    except (ValueError, TypeError, AttributeError, RecursionError):
        return None


def rows_fault(path: Path) -> str:
    """Return what is wrong with the rows of a log; empty where all are what was written."""
    try:
        found = check_rows(path)
    except sqlite3.Error as error:
        return str(error)
    if found.n_bad:
        return f"{found.n_bad} {'entry is' if found.n_bad == 1 else 'entries are'} not what was written"
    return f"{found.n_gone} {'entry is' if found.n_gone == 1 else 'entries are'} gone" if found.n_gone else ""


def state_follows(store: Store) -> bool:
    """Return whether the state is what follows from the log; nothing is changed."""
    before = state_digest(store)
    with store.database.atomic("IMMEDIATE") as transaction:
        rebuild(store)
        after = state_digest(store)
        transaction.rollback()
    return before == after


def _raw_rows(path: Path) -> Iterator[tuple[Any, ...]]:
    """Yield all rows, texts as bytes; a connection of its own sees what has been saved."""
    connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
    connection.text_factory = bytes
    try:
        cursor = connection.execute(f"SELECT row, {EVENT_COLUMNS}, digest FROM event ORDER BY row")
        while page := cursor.fetchmany(_PAGE):
            yield from page
    finally:
        connection.close()
