"""A connection that breaks at the n-th statement it is asked to run."""

from __future__ import annotations

import contextlib
import functools
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from unittest import mock

from peewee import SqliteDatabase


@dataclass(slots=True)
class Fuse:
    """Counts statements; the one numbered `at` fails, before it is run."""

    at: int = 0
    n: int = 0

    def pass_by(self) -> None:
        """Let a statement by, or fail."""
        self.n += 1
        if self.n == self.at:
            raise sqlite3.OperationalError("disk I/O error")

    def arm(self, at: int) -> None:
        """Let the `at`-th statement from now on fail."""
        self.n, self.at = 0, at

    def take_out(self) -> bool:
        """Let everything by from now on; return whether the fuse has blown."""
        is_blown = 0 < self.at <= self.n
        self.at = 0
        return is_blown


@contextlib.contextmanager
def statements_through(fuse: Fuse) -> Iterator[None]:
    """Open logs so that every statement goes by the fuse: reads, writes, BEGIN and COMMIT."""

    class Cursor(sqlite3.Cursor):
        def execute(self, *asked: Any) -> sqlite3.Cursor:
            fuse.pass_by()
            return super().execute(*asked)

        def executemany(self, sql: str, rows: Any) -> sqlite3.Cursor:
            fuse.pass_by()
            return super().executemany(sql, rows)

    class Connection(sqlite3.Connection):
        def cursor(self, factory: Any = Cursor) -> Any:
            return super().cursor(factory)

    database = functools.partial(SqliteDatabase, factory=Connection)
    with mock.patch("boxside.store.connection.SqliteDatabase", database):
        yield
