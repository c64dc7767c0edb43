"""What can be worked out again is kept without waiting for the disk, and never gets in the way of a save."""

from __future__ import annotations

from datetime import date, timedelta
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
LATER = Due(BOXES[0], "clean", DAY, DAY + timedelta(days=3), DAY + timedelta(days=9))
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


def test_a_log_that_is_only_read_keeps_what_is_due_until_the_app_ends(tmp_path: Path) -> None:
    """Kept on the disk before are other tasks, of an older rule."""
    filled(tmp_path)
    store = open_log(tmp_path)
    old = Due(BOXES[0], "air", DAY, DAY, DAY)
    other = Due(BOXES[1], "feed", DAY, DAY, DAY)
    reading.hold_dues(store, "old", {BOXES[0]: [old], BOXES[1]: [other]})
    assert reading.dues_by(store, DAY) == [old, other]
    store.why_read_only = "for a look only"
    assert BOXES[0] in reading.stale_boxes(store, "new")
    reading.hold_dues(store, "new", {BOXES[0]: [LATER, DUE]})
    assert BOXES[0] not in reading.stale_boxes(store, "new")
    assert reading.dues_of(store, BOXES[0]) == [DUE, LATER]
    assert reading.dues_by(store, DAY) == [DUE, other]
    assert reading.all_dues(store) == [DUE, other, LATER]
    store.close()
    again = open_log(tmp_path)
    assert reading.dues_of(again, BOXES[0]) == [old]
    again.close()


def test_what_was_set_aside_goes_once_it_is_kept_or_its_box_changes(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    for change in (
        lambda: reading.hold_dues(store, "stamp", {BOXES[0]: [LATER]}),
        lambda: save(store, keeper.event("fed", ("box", BOXES[0]), 60, {})),
        lambda: save(store, keeper.event("setting_changed", ("colony", "colony"), 61, {"key": "zone", "value": "UTC"})),
    ):
        store.why_read_only = "for a moment"
        reading.hold_dues(store, "stamp", {BOXES[0]: [DUE]})
        store.why_read_only = ""
        assert reading.dues_of(store, BOXES[0]) == [DUE]
        change()
        assert reading.dues_of(store, BOXES[0]) != [DUE]
    store.close()
