"""A damaged log made whole: set aside, the newest snapshot taken, what is newer read out of the damaged file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from peewee import SqliteDatabase

from boxside.core.values.errors import StoreError
from boxside.core.values.event import Event
from boxside.core.values.vocabulary import Vocabulary
from boxside.store import snapshots
from boxside.store.checking import event_as_written
from boxside.store.connection import FILE_NAME, SQLITE_ERRORS, Repair, Store, open_file
from boxside.store.merging import last_row, unite
from boxside.store.pages import open_pages
from boxside.store.rebuild import rebuild
from boxside.store.safe_files import copy, rename
from boxside.store.snapshots import Snapshot
from boxside.store.swapping import finish, next_of, set_aside

_N_COLUMNS = 18
_KEPT_NOTES = ("device", "archive_folder", "archive_made_ms")


def salvaged(path: Path) -> Iterator[tuple[int, Event]]:
    """Yield (number, event) of every row that a damaged file still holds as it was written, in any order.

    The tree is not asked: each page is read by itself, and each row proves itself by its digest.
    """
    return ((number, event) for number, event in _remains(path) if event is not None)


def _remains(path: Path) -> Iterator[tuple[int, Event | None]]:
    """Yield what is left of each row of a damaged file: its number, and the event where it is what was written."""
    wal = path.with_name(path.name + "-wal")
    with path.open("rb") as file:
        for number, row in open_pages(file, wal if wal.exists() else None).rows(_N_COLUMNS):
            if isinstance(row[-1], bytes) and len(row[-1]) == 32:
                yield number, event_as_written(tuple(row[1:]))


def repair(folder: Path, vocabulary: Vocabulary, now_ms: int, why: str) -> Repair:
    """Make the log in a folder whole again; no connection to it may be open.

    The damaged file is copied aside first, and the whole one takes its place at once: whenever the power
    goes, either is there.

    Raises
    ------
    StoreError : if there is neither a whole snapshot nor anything readable, or the disk refuses; nothing was changed
    """
    log = folder / FILE_NAME
    building = log.with_name(log.name + ".building")
    snapshot = snapshots.newest_whole(folder)
    try:
        _forget(building)
        n_salvaged, n_gone = _fill(building, log, snapshot, vocabulary)
        n_events = _ready(building, vocabulary)
        if n_events == 0:
            _forget(building)
            raise StoreError(f"{log} holds nothing that can be read, and there is no snapshot. Nothing was changed.")
        aside = set_aside(log, snapshots.stamp_text(now_ms))
        rename(building, next_of(log))
        finish(log)
    except (OSError, *SQLITE_ERRORS) as error:
        raise StoreError(
            f"The log could not be repaired: {error}. It is as it was. Free some space, then try again."
        ) from error
    return Repair(why, n_events, n_salvaged, n_gone, snapshot.at_ms if snapshot else None, aside)


def _fill(building: Path, log: Path, snapshot: Snapshot | None, vocabulary: Vocabulary) -> tuple[int, int]:
    """Unite the snapshot's rows with those of the damaged file, each proved by its digest.

    Returns how many only the damaged file held, and how many are gone. The snapshot is not taken as a whole:
    one that was made before a merge, unlooked at, may hold damage too.
    """
    store = open_file(building, vocabulary)
    numbers = _Numbers()
    try:
        with store.database.atomic("IMMEDIATE"):
            if snapshot is not None:
                unite(store, numbers.noting(_copied(snapshot.path)))
            found = unite(store, numbers.noting(_remains(log))) if log.exists() else None
            for key, value in _notes(log, vocabulary) or (_notes(snapshot.path, vocabulary) if snapshot else []):
                store.set_meta(key, value)
            n_gone = numbers.n_gone()
            if n_gone:
                # Numbers that were given out may be gone: a device that counts on under its old name would repeat them.
                store.set_meta("device", "")
            rebuild(store)
        return (found.n_new if found else 0), n_gone
    finally:
        store.close()


def _copied(path: Path) -> Iterator[tuple[int, Event | None]]:
    """Yield each row of a snapshot: its number, and the event where it is what was written."""
    return ((row[0], event_as_written(row[1:])) for row in snapshots.event_rows(path))


@dataclass(slots=True)
class _Numbers:
    """The numbers of the rows that were met, and of those that were what was written."""

    met: set[int] = field(default_factory=set)
    proved: set[int] = field(default_factory=set)

    def noting(self, rows: Iterable[tuple[int, Event | None]]) -> Iterator[Event]:
        """Yield the events, and remember the numbers."""
        for number, event in rows:
            self.met.add(number)
            if event is not None:
                self.proved.add(number)
                yield event

    def n_gone(self) -> int:
        """Return how many rows are missing among those up to the last one: they were numbered without gaps.

        A number far beyond the others is itself damaged, and counts for nothing.
        """
        most = 2 * len(self.met) + 1000
        last = max((number for number in self.met if 0 < number <= most), default=0)
        return last - sum(0 < number <= last for number in self.proved)


def _ready(building: Path, vocabulary: Vocabulary) -> int:
    """Fold everything into the one file; return how many events it holds."""
    store = open_file(building, vocabulary)
    n_events = last_row(store)
    store.database.execute_sql("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    store.close()
    return n_events


def _notes(log: Path, vocabulary: Vocabulary) -> list[tuple[str, str]]:
    """Return what the damaged file still says about itself, where that is what was written.

    It is opened in a way that never changes it, and passes over its write-ahead file.
    """
    database = SqliteDatabase(f"{log.resolve().as_uri()}?mode=ro&immutable=1", uri=True, thread_safe=False)
    try:
        damaged = Store(database, log, vocabulary)
        if not damaged.meta_is_as_written():
            return []
        return [(key, value) for key in _KEPT_NOTES if (value := damaged.meta(key))]
    except SQLITE_ERRORS:
        return []
    finally:
        database.close()


def _forget(building: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        building.with_name(building.name + ending).unlink(missing_ok=True)


def replace_with(store: Store, whole: Path) -> None:
    """Put a copy of a whole log in the place of the open one, and open that.

    Raises
    ------
    StoreError : if another program has the log open, or the disk refuses; the log is as it was
    """
    try:
        # Only the last connection may leave the write-ahead log; whoever else is there would go on in the old file.
        store.row("PRAGMA journal_mode = delete")
    except SQLITE_ERRORS as error:
        raise StoreError("Another program uses this log. Nothing was changed. Close it, then try again.") from error
    try:
        copy(whole, next_of(store.path))
    except OSError as error:
        store.row("PRAGMA journal_mode = wal")
        raise StoreError(f"The log was not replaced: {error}. It is as it was. Free some space.") from error
    store.close()
    finish(store.path)
    reopen(store)


def reopen(store: Store) -> None:
    """Open the log again, after its file was replaced."""
    fresh = open_file(store.path, store.vocabulary)
    store.database, store.why_read_only = fresh.database, fresh.why_read_only
    store.aside.clear()
