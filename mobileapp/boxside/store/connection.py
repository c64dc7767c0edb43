"""One connection to one log: pragmas, schema, and what happens when it cannot be opened."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from peewee import DatabaseError, InterfaceError, OperationalError, SqliteDatabase

from boxside.core.values.due import Due
from boxside.core.values.errors import StoreError
from boxside.core.values.vocabulary import Vocabulary
from boxside.store.migrations import STEPS
from boxside.store.pages import broken_inside
from boxside.store.swapping import finish

FILE_NAME = "boxside.db"

# FULL, not NORMAL: a save that was acknowledged must outlive a power cut, at one sync a save. The
# checkpoint is ours to run between saves, never inside one.
PRAGMAS = {
    "journal_mode": "wal",
    "synchronous": 2,
    "foreign_keys": 1,
    "wal_autocheckpoint": 0,
    # Without a limit the write-ahead file keeps its size once grown, and looks due for a checkpoint ever after.
    "journal_size_limit": 1 << 20,
    "busy_timeout": 5000,
    "cache_size": -16000,
    "temp_store": 2,
}
CHECKPOINT_PAGES = 1000
_META_PROOF = "proof"
_SET_META = "INSERT INTO meta VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value"
BeforeStep = Callable[["Store"], object]
SQLITE_ERRORS = (DatabaseError, InterfaceError, OperationalError, sqlite3.Error)


@dataclass(frozen=True, slots=True)
class Repair:
    """What a repair did: rows kept, those of them that only the damaged file had, and those that are gone.

    `why` is what was wrong; `snapshot_ms` is when the snapshot was taken that it began with, None where there
    was none; `aside` is where the damaged file is kept.
    """

    why: str
    n_events: int
    n_salvaged: int
    n_gone: int
    snapshot_ms: int | None
    aside: Path


@dataclass(slots=True)
class Store:
    """An open log. All calls come from one thread at a time.

    `why_read_only` is empty when it can be written; `aside` holds due tasks, with the stamp they hold for, of
    boxes for which they could not be kept; `repaired` tells of a repair when it was opened.
    """

    database: SqliteDatabase
    path: Path
    vocabulary: Vocabulary
    why_read_only: str = ""
    aside: dict[str, tuple[str, tuple[Due, ...]]] = field(default_factory=dict)
    repaired: Repair | None = None

    def rows(self, sql: str, values: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """Return all rows of a reading statement."""
        return list(self.database.execute_sql(sql, values).fetchall())

    def row(self, sql: str, values: Sequence[object] = ()) -> tuple[Any, ...] | None:
        """Return the first row of a reading statement, or None."""
        found: tuple[Any, ...] | None = self.database.execute_sql(sql, values).fetchone()
        return found

    def run(self, sql: str, values: Sequence[object] = ()) -> int:
        """Run a writing statement inside the open transaction; return how many rows it changed."""
        return int(self.database.execute_sql(sql, values).rowcount)

    def run_many(self, sql: str, rows: Iterable[Sequence[object]]) -> None:
        """Run a writing statement for many rows; Peewee's own insert costs many times as much."""
        self.database.cursor().executemany(sql, rows)

    def meta(self, key: str) -> str:
        """Return a note about the log itself, empty where there is none."""
        found = self.row("SELECT value FROM meta WHERE key = ?", (key,))
        return str(found[0]) if found else ""

    def set_meta(self, key: str, value: str) -> None:
        """Keep a note about the log itself, inside the open transaction; an empty one is removed."""
        if value:
            self.run(_SET_META, (key, value))
        else:
            self.run("DELETE FROM meta WHERE key = ?", (key,))
        self.run(_SET_META, (_META_PROOF, self.meta_digest()))

    def meta_digest(self) -> str:
        """Return the sha256 over all notes: what proves that they are what was written."""
        kept = self.rows("SELECT key, value FROM meta WHERE key <> ? ORDER BY key", (_META_PROOF,))
        return hashlib.sha256(json.dumps(kept).encode()).hexdigest()

    def meta_is_as_written(self) -> bool:
        """Return whether the notes are what was written; a log from before there was a proof has none to break."""
        proof = self.meta(_META_PROOF)
        return not proof or proof == self.meta_digest()

    def checkpoint(self, whole: bool = False) -> bool:
        """Fold the write-ahead file into the log where it has grown; between saves only.

        `whole` waits for readers and gives the room on the disk back, as after a merge. False where the disk
        refuses: everything saved is safe in the write-ahead file, and the next save leads to the next attempt.
        """
        wal = self.path.with_name(self.path.name + "-wal")
        try:
            if wal.stat().st_size > CHECKPOINT_PAGES * 4096:
                self.database.execute_sql(f"PRAGMA wal_checkpoint({'TRUNCATE' if whole else 'PASSIVE'})").fetchall()
        except FileNotFoundError:
            return True
        except (OSError, *SQLITE_ERRORS):
            return False
        return True

    def close(self) -> None:
        """Close the log; everything saved stays."""
        if not self.database.is_closed():
            self.database.close()


class DamagedError(StoreError):
    """The file is a log, or was one, and what it holds is not what was written; it can be repaired.

    Parameters
    ----------
    path : the file
    reason : what is wrong with it, in a few words
    """

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path} cannot be opened: {reason}. Nothing was changed. {_ADVICE}")
        self.reason = reason


def open_store(folder: Path, vocabulary: Vocabulary, before_step: BeforeStep | None = None) -> Store:
    """Open the log in a folder, making both where they are missing.

    Parameters
    ----------
    before_step : called with the log before its form is changed, so that a copy can be set aside

    Raises
    ------
    DamagedError : if the file is not what was written; nothing is changed
    StoreError : if the log cannot be opened, the folder cannot be written, or the disk is full; nothing is changed
    """
    path = folder / FILE_NAME
    try:
        folder.mkdir(parents=True, exist_ok=True)
        finish(path)
        _refuse_others(path)
        _refuse_rotten(path)
        store = _connect(path, vocabulary, PRAGMAS, before_step)
    except (OSError, DatabaseError, InterfaceError) as error:
        if _says_damaged(error):
            raise DamagedError(path, str(error)) from error
        if path.exists() and (read_only := _read_only(path, vocabulary)) is not None:
            return read_only
        raise StoreError(f"{path} cannot be opened: {error}. Nothing was changed. {_ADVICE}") from error
    return store


def open_file(path: Path, vocabulary: Vocabulary) -> Store:
    """Open or make the log in a file of any name."""
    return _connect(path, vocabulary, PRAGMAS)


def _says_damaged(error: Exception) -> bool:
    return any(word in str(error) for word in ("malformed", "not a database", "corrupt"))


def _refuse_rotten(path: Path) -> None:
    """Refuse a log of which SQLite would, without a word, forget the newest saves."""
    wal = path.with_name(path.name + "-wal")
    if path.exists() and wal.exists() and wal.stat().st_size and broken_inside(path, wal):
        raise DamagedError(wal, "saved entries in it are not what was written")


_CANNOT_BE_WRITTEN = "the log cannot be written now; reading and exporting work"
_ADVICE = "Check that the disk is not full, that the folder may be written, and that the file is a Boxside log."


def _refuse_others(path: Path) -> None:
    """Refuse another program's database before anything is set or made in it."""
    if not path.exists() or path.stat().st_size == 0:
        return
    database = SqliteDatabase(f"file:{path}?mode=ro", uri=True, thread_safe=False, check_same_thread=False)
    try:
        database.connect()
        tables = {row[0] for row in database.execute_sql("SELECT name FROM sqlite_master WHERE type = 'table'")}
    except OperationalError:
        # It cannot be read without being written, as in a folder that may not be: opening it says more.
        return
    finally:
        database.close()
    if tables and "event" not in tables:
        raise StoreError(f"{path} is no Boxside log but another program's database. Nothing was changed. {_ADVICE}")


def _connect(
    path: Path, vocabulary: Vocabulary, pragmas: dict[str, Any], before_step: BeforeStep | None = None
) -> Store:
    database = SqliteDatabase(str(path), pragmas=pragmas, thread_safe=False, check_same_thread=False)
    try:
        database.connect()
        store = Store(database, path, vocabulary)
        migrate(store, before_step)
        if not store.why_read_only:
            _check_pragmas(store)
        if not os.access(path, os.W_OK):
            # SQLite opens such a file without a word and fails at the first save.
            store.why_read_only = _CANNOT_BE_WRITTEN
    except BaseException:
        database.close()
        raise
    return store


def _read_only(path: Path, vocabulary: Vocabulary) -> Store | None:
    """Open a log that cannot be written now, so that it can still be read and exported."""
    wal = path.with_name(path.name + "-wal")
    # In a folder that cannot be written SQLite has no place for its shared memory; where all is in the
    # file itself it can do without, since nobody can change it.
    ways = ["mode=ro"] if wal.exists() and wal.stat().st_size else ["mode=ro", "mode=ro&immutable=1"]
    for way in ways:
        database = SqliteDatabase(f"file:{path}?{way}", uri=True, thread_safe=False, check_same_thread=False)
        try:
            database.connect()
            database.execute_sql("SELECT 1 FROM event LIMIT 1").fetchone()
        except (DatabaseError, InterfaceError):
            database.close()
            continue
        return Store(database, path, vocabulary, _CANNOT_BE_WRITTEN)
    return None


def migrate(store: Store, before_step: BeforeStep | None = None) -> None:
    """Bring the schema up to date, one transaction a step; a newer one opens for reading only."""
    version = int(store.database.execute_sql("PRAGMA user_version").fetchone()[0])
    if version > len(STEPS):
        store.database.execute_sql("PRAGMA query_only = 1")
        store.why_read_only = (
            "this log was written by a newer Boxside; it is open for reading and export. Update Boxside to log"
        )
        return
    if 0 < version < len(STEPS) and before_step is not None:
        before_step(store)
    for number, step in enumerate(STEPS[version:], start=version + 1):
        with store.database.atomic("EXCLUSIVE"):
            if int(store.database.execute_sql("PRAGMA user_version").fetchone()[0]) < number:
                step(store.database)
                store.database.execute_sql(f"PRAGMA user_version = {number}")
    if broken := store.rows("PRAGMA foreign_key_check"):
        raise StoreError(f"the log's tables do not fit together: {broken[0]}. Nothing was changed.")


def _check_pragmas(store: Store) -> None:
    for name in ("journal_mode", "synchronous"):
        found = store.database.execute_sql(f"PRAGMA {name}").fetchone()[0]
        if str(found) != str(PRAGMAS[name]):
            raise StoreError(f"the log cannot be kept safely here: {name} is {found}. Nothing was changed.")
