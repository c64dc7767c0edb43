"""Opening a log: what is asked of SQLite, and what is said where a file cannot be opened or written."""

from __future__ import annotations

import os
import sqlite3
import sys
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest import mock

import apsw
import pytest
from peewee import SqliteDatabase

from boxside.core.values.errors import StoreError
from boxside.store import Store, reading, saving
from boxside.store.connection import PRAGMAS
from boxside.store.migrations import STEPS
from boxside.store.rebuild import rebuild
from tests.store.logs import BOXES, VOCABULARY, content, content_of, file_of, filled, open_log, save
from tests.torture.disk import Disk
from tests.torture.onto import open_on

NOBODY = 65534


def test_the_pragmas_that_keep_a_log_safe_read_back(tmp_path: Path) -> None:
    store = open_log(tmp_path)
    read = {name: store.row(f"PRAGMA {name}") for name in PRAGMAS}
    assert read["journal_mode"] == ("wal",)
    assert read["synchronous"] == (2,), "FULL: with less, a power cut takes back what was acknowledged"
    assert read["wal_autocheckpoint"] == (0,), "no checkpoint inside a save"
    assert read["foreign_keys"] == (1,)
    store.close()


def test_a_place_without_a_write_ahead_log_is_refused(tmp_path: Path) -> None:
    """Where SQLite cannot have one it stays with another journal and does not say so."""

    def elsewhere(path: str, **how: Any) -> SqliteDatabase:
        return SqliteDatabase(":memory:", **how)

    in_memory = mock.patch("boxside.store.connection.SqliteDatabase", elsewhere)
    with in_memory, pytest.raises(StoreError, match="cannot be kept safely here: journal_mode is memory"):
        open_log(tmp_path)


def test_a_missing_folder_is_made(tmp_path: Path) -> None:
    store = open_log(tmp_path / "new" / "folder")
    save(store, filled(tmp_path / "other").event("looked", ("box", BOXES[0]), 1, {}))
    store.close()
    assert file_of(tmp_path / "new" / "folder").exists()


@pytest.mark.parametrize("garbage", [b"This is no database.\n" * 400, os.urandom(20_000), b"\0" * 8192])
def test_a_file_that_is_no_log_is_left_as_it_is(tmp_path: Path, garbage: bytes) -> None:
    file_of(tmp_path).write_bytes(garbage)
    with pytest.raises(StoreError, match=r"cannot be opened.*Nothing was changed"):
        open_log(tmp_path)
    assert file_of(tmp_path).read_bytes() == garbage


def test_another_programs_database_is_left_as_it_is(tmp_path: Path) -> None:
    with sqlite3.connect(file_of(tmp_path)) as other:
        other.execute("CREATE TABLE recipe (name TEXT)")
        other.execute("INSERT INTO recipe VALUES ('soup')")
    other.close()
    with pytest.raises(StoreError, match="no Boxside log"):
        open_log(tmp_path)
    with sqlite3.connect(file_of(tmp_path)) as other:
        assert other.execute("SELECT name FROM sqlite_master").fetchall() == [("recipe",)]
    other.close()


def test_a_log_of_a_newer_app_opens_for_reading_only(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    before = content_of(tmp_path)
    with sqlite3.connect(file_of(tmp_path)) as newer:
        newer.execute("CREATE TABLE from_the_future (x)")
        newer.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    newer.close()
    store = open_log(tmp_path)
    assert "newer Boxside" in store.why_read_only
    assert "Update Boxside" in store.why_read_only
    assert content(store) == before
    with pytest.raises(StoreError, match=r"Not saved: .*newer Boxside"):
        save(store, keeper.event("fed", ("box", BOXES[0]), 50, {}))
    with pytest.raises(Exception, match=r"readonly|read-only|query_only"):
        store.run("DELETE FROM due_box")
    store.close()


def test_a_disk_that_fills_while_a_log_is_made_leaves_nothing_half(tmp_path: Path) -> None:
    """At whichever write the disk says that it is full, the next opening finds a whole log or makes one."""

    def full(number: int, what: str) -> None:
        if number >= at:
            raise apsw.FullError("database or disk is full")

    for at in range(1, 400):
        folder = tmp_path / str(at)
        disk = Disk(f"full-{at}", full)
        try:
            made = open_on(disk, folder, VOCABULARY)
        except StoreError as error:
            said = str(error)
        else:
            said = ""
            disk.on_op = None
            made.close()
        finally:
            disk.unregister()
        if not said:
            assert at > 20
            return
        assert "disk is full" in said
        assert "Nothing was changed" in said
        store = open_log(folder)
        assert content(store)["event"] == []
        assert store.row("PRAGMA user_version") == (len(STEPS),)
        store.close()
    raise AssertionError("the disk was full for ever")


def test_a_log_whose_disk_is_full_refuses_a_save_keeps_the_rest_and_goes_on(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    before = content(store)
    n_pages = store.row("PRAGMA page_count") or (0,)
    store.database.execute_sql(f"PRAGMA max_page_count = {n_pages[0]}")
    long = keeper.event("note", ("box", BOXES[0]), 60, {})
    big = [keeper.event("photo", ("box", BOXES[0]), 61, {"sha256": "f" * 90_000}), long]
    with pytest.raises(StoreError, match=r"Not saved: .*full.*What was logged before is safe.*Free some space"):
        save(store, *big)
    assert content(store) == before
    assert reading.history(store, "box", BOXES[0], 3)
    store.database.execute_sql("PRAGMA max_page_count = 100000")
    save(store, *big)
    store.close()


def as_nobody(act: Callable[[Path], None], folder: Path) -> None:
    """Run something in a process that may write only what everybody may."""
    child = os.fork()
    if child == 0:
        status = 1
        try:
            if os.geteuid() == 0:
                os.setuid(NOBODY)
            act(folder)
            status = 0
        except BaseException:  # noqa: BLE001  the child must not go on with the tests
            traceback.print_exc()
        finally:
            os._exit(status)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def reads_but_does_not_save(folder: Path) -> None:
    store = open_log(folder)
    assert "cannot be written" in store.why_read_only
    assert len(store.rows("SELECT id FROM event")) == 13
    assert {box.label for box in reading.open_boxes(store)} == {"B0", "B1", "B2", "B3"}
    message = "Not saved: the log cannot be written now; reading and exporting work"
    with pytest.raises(StoreError, match=message), saving(store):
        pass
    store.close()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no user that may write nothing")
@pytest.mark.parametrize("what", ["file", "folder"])
def test_a_log_that_may_not_be_written_can_be_read(what: str) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "log"
        filled(folder)
        Path(place).chmod(0o755)
        folder.chmod(0o777 if what == "file" else 0o555)
        file_of(folder).chmod(0o444 if what == "file" else 0o644)
        as_nobody(reads_but_does_not_save, folder)
        folder.chmod(0o755)


def cannot_be_made(folder: Path) -> None:
    with pytest.raises(StoreError, match=r"cannot be opened.*Nothing was changed.*folder may be written"):
        open_log(folder / "log")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no user that may write nothing")
def test_a_log_cannot_be_made_where_nothing_may_be_written() -> None:
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o555)
        as_nobody(cannot_be_made, Path(place))
        assert list(Path(place).iterdir()) == []


def test_the_first_schema_filled_is_kept_by_every_later_one(tmp_path: Path) -> None:
    """A log of the first schema, filled, and brought up to date step by step: nothing of it changes."""
    filled(tmp_path / "log")
    now = content_of(tmp_path / "log")
    store = Store(SqliteDatabase(None), tmp_path / "old.db", VOCABULARY)
    store.database.init(str(tmp_path / "old" / "boxside.db"), pragmas={"journal_mode": "wal"})
    (tmp_path / "old").mkdir()
    with store.database.atomic("EXCLUSIVE"):
        STEPS[0](store.database)
        store.database.execute_sql("PRAGMA user_version = 1")
        for row in now["event"]:
            store.run(f"INSERT INTO event VALUES ({', '.join('?' * len(row))})", row)
    with saving(store):
        rebuild(store)
    store.close()
    migrated = open_log(tmp_path / "old")
    assert migrated.row("PRAGMA user_version") == (len(STEPS),)
    assert migrated.row("PRAGMA integrity_check") == ("ok",)
    assert migrated.rows("PRAGMA foreign_key_check") == []
    assert content(migrated) == now
    migrated.close()
