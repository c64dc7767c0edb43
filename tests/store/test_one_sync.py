"""What a save asks of the disk: one sync of the write-ahead file, and never a checkpoint."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import pytest

from boxside.store import Store, saving
from boxside.store.connection import CHECKPOINT_PAGES
from tests.store.logs import VOCABULARY
from tests.torture.deeds import Keeper
from tests.torture.disk import Disk
from tests.torture.onto import checkpoints_after, open_on

WAL, FILE = "boxside.db-wal", "boxside.db"


@pytest.fixture
def disk() -> Iterator[Disk]:
    """A disk that counts."""
    disk = Disk("counting")
    yield disk
    disk.unregister()


def syncs_of(store: Store, disk: Disk, keeper: Keeper, n: int, fold_in: bool) -> list[int]:
    """Save one event after another; return how often each save synced the write-ahead file."""
    found = []
    for event in islice(keeper.deeds(begin=not keeper.logged), n):
        before = disk.calls.copy()
        with saving(store) as log:
            log.append(event)
        asked = disk.calls - before
        assert {what for what in asked if what.endswith(FILE)} == set(), "no checkpoint inside a save"
        found.append(asked[f"sync {WAL}"])
        keeper.logged.append(event)
        if fold_in:
            store.checkpoint()
    return found


def test_a_save_syncs_once_whatever_it_is(disk: Disk, tmp_path: Path) -> None:
    store = open_on(disk, tmp_path, VOCABULARY)
    assert syncs_of(store, disk, Keeper(random.Random(1)), 120, fold_in=False) == [1] * 120
    store.close()


def test_the_save_after_a_checkpoint_begins_the_file_anew_with_one_sync_more(disk: Disk, tmp_path: Path) -> None:
    """And a checkpoint comes when the file has grown, not after each save from then on."""
    pages = 200
    with checkpoints_after(pages):
        store = open_on(disk, tmp_path, VOCABULARY)
        found = syncs_of(store, disk, Keeper(random.Random(1)), 400, fold_in=True)
    n_checkpoints = disk.calls[f"sync {FILE}"]
    assert set(found) == {1, 2}
    assert 3 < n_checkpoints < 60
    assert abs(found.count(2) - n_checkpoints) <= 1
    assert (tmp_path / WAL).stat().st_size < 3 * pages * 4096
    store.close()


def test_the_write_ahead_file_is_folded_in_before_it_grows_large(tmp_path: Path) -> None:
    assert CHECKPOINT_PAGES * 4096 < 5_000_000
