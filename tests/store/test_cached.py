"""What can be worked out again is kept without waiting for the disk, and never gets in the way of a save."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import apsw
import pytest

from boxside.core.values.due import Due
from boxside.store import Store, cached, reading
from tests.store.logs import BOXES, VOCABULARY, content, filled, open_log, save
from tests.torture.disk import Disk
from tests.torture.onto import open_on

DAY = date(2026, 5, 3)
DUE = Due(BOXES[0], "feed", DAY, DAY, DAY)
WAL_SYNC = "sync boxside.db-wal"


def keep_due(store: Store) -> bool:
    """Keep that one box is due."""
    return cached(store, lambda: reading.keep_dues(store, "stamp", {BOXES[0]: [DUE]}))


def test_the_cache_is_not_synced_and_the_next_save_is(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    disk = Disk("cached")
    try:
        store = open_on(disk, tmp_path, VOCABULARY)
        save(store, keeper.event("fed", ("box", BOXES[1]), 50, {}))
        before = disk.calls.copy()
        assert keep_due(store)
        assert (disk.calls - before)[WAL_SYNC] == 0
        assert store.row("PRAGMA synchronous") == (2,)
        before = disk.calls.copy()
        save(store, keeper.event("fed", ("box", BOXES[1]), 51, {}))
        assert (disk.calls - before)[WAL_SYNC] == 1
        assert reading.dues_of(store, BOXES[0]) == [DUE]
        store.close()
    finally:
        disk.unregister()


def test_a_cache_that_cannot_be_written_says_so_and_changes_nothing(tmp_path: Path) -> None:
    """The save before it stands, and the next one is as safe as ever."""

    def full(number: int, what: str) -> None:
        raise apsw.FullError("database or disk is full")

    keeper = filled(tmp_path)
    disk = Disk("cached-full")
    try:
        store = open_on(disk, tmp_path, VOCABULARY)
        save(store, keeper.event("fed", ("box", BOXES[1]), 50, {}))
        before = content(store)
        disk.on_op = full
        assert not keep_due(store)
        disk.on_op = None
        assert content(store) == before
        assert reading.dues_of(store, BOXES[0]) == []
        assert store.row("PRAGMA synchronous") == (2,)
        store.close()
    finally:
        disk.unregister()


def test_a_fault_in_what_is_written_is_no_refusal_of_the_disk(tmp_path: Path) -> None:
    store = open_log(tmp_path)

    def wrong() -> None:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        cached(store, wrong)
    assert store.row("PRAGMA synchronous") == (2,)
    store.close()


def test_a_log_that_is_only_read_keeps_no_cache(tmp_path: Path) -> None:
    filled(tmp_path)
    store = open_log(tmp_path)
    store.why_read_only = "for a look only"
    assert not keep_due(store)
    assert reading.dues_of(store, BOXES[0]) == []
    store.close()
