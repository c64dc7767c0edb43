"""The store, on a disk of the tests' own: Peewee over apsw in place of Peewee over sqlite3."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any
from unittest import mock

from peewee import __exception_wrapper__
from playhouse.apsw_ext import APSWDatabase

from boxside.core.values.vocabulary import Vocabulary
from boxside.store import Store, open_store
from tests.torture.disk import Disk

CONNECTION = "boxside.store.connection"


class _Cursor:
    """An apsw cursor with what the store reads of a sqlite3 one."""

    def __init__(self, cursor: Any) -> None:
        self._cursor = cursor
        self.connection = cursor.connection
        self.rowcount = -1

    def execute(self, sql: str, values: Iterable[object] = ()) -> _Cursor:
        self._cursor.execute(sql, tuple(values))
        self.rowcount = self.connection.changes()
        return self

    def executemany(self, sql: str, rows: Iterable[Iterable[object]]) -> _Cursor:
        with __exception_wrapper__:
            self._cursor.executemany(sql, [tuple(row) for row in rows])
        return self

    def fetchone(self) -> Any:
        with __exception_wrapper__:
            return self._cursor.fetchone()

    def fetchall(self) -> list[Any]:
        with __exception_wrapper__:
            return list(self._cursor.fetchall())

    def __iter__(self) -> Iterator[Any]:
        return iter(self._cursor)

    def close(self) -> None:
        self._cursor.close()


class _Database(APSWDatabase):
    def cursor(self, named_cursor: Any = None) -> _Cursor:
        return _Cursor(super().cursor())


def open_on(disk: Disk, folder: Path, vocabulary: Vocabulary) -> Store:
    """Open the log in a folder as the app does, with every byte going through the disk."""

    def database(path: str, **how: Any) -> _Database:
        return _Database(path, pragmas=how.get("pragmas"), thread_safe=False, vfs=disk.vfs_name)

    with mock.patch(f"{CONNECTION}.SqliteDatabase", database):
        return open_store(folder, vocabulary)


@contextlib.contextmanager
def checkpoints_after(pages: int) -> Iterator[None]:
    """Let the write-ahead file be folded in sooner, so that short runs see checkpoints and fresh starts too."""
    limit = {"journal_size_limit": pages * 1024}
    with mock.patch(f"{CONNECTION}.CHECKPOINT_PAGES", pages), mock.patch.dict(f"{CONNECTION}.PRAGMAS", limit):
        yield


@contextlib.contextmanager
def synchronous(level: int) -> Iterator[None]:
    """Open logs with another PRAGMA synchronous: 0 is OFF, 1 NORMAL, 2 FULL."""
    with mock.patch.dict(f"{CONNECTION}.PRAGMAS", {"synchronous": level}):
        yield
