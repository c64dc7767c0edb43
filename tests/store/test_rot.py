"""Rot on the disk: what changed a row is noticed, what was lost comes back; short runs of `tests.torture.rot`."""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from boxside.core.values.errors import StoreError
from boxside.store import DamagedError, photos, saving, snapshots
from boxside.store.rebuild import state_digest
from boxside.store.repairing import repair, replace_with
from boxside.store.swapping import next_of
from tests.store.logs import BOXES, VOCABULARY, content, content_of, file_of, filled, open_log, save
from tests.torture.deeds import Keeper
from tests.torture.onto import synchronous
from tests.torture.rot import NOW_MS, flip_bits, flip_wal, killed, lose_pages, small_log


@pytest.fixture(autouse=True)
def quick_disk() -> Iterator[None]:
    """Nothing here asks whether the disk was waited for."""
    with synchronous(0):
        yield


def test_every_flipped_bit_that_changes_a_row_is_noticed_and_mended(tmp_path: Path) -> None:
    flips = flip_bits(small_log(tmp_path / "log", 90, VOCABULARY), 70, 3, VOCABULARY)
    assert flips.changed > 15
    assert flips.missed == 0, flips.where
    assert flips.not_whole_again == 0
    assert flips.missed_by_sqlite > 2, "the control: SQLite's own check does not see them all"


def test_flips_in_the_write_ahead_file_never_take_more_than_the_last_save_in_silence(tmp_path: Path) -> None:
    tail = flip_wal(killed(tmp_path, 30, VOCABULARY), 40, 4, VOCABULARY)
    assert tail.silent == 0
    assert tail.noticed > 30


def test_what_a_rotten_write_ahead_file_still_holds_is_read_out_of_it(tmp_path: Path) -> None:
    place = killed(tmp_path, 30, VOCABULARY)
    wal = file_of(place).with_name("boxside.db-wal")
    data = bytearray(wal.read_bytes())
    data[len(data) // 2] ^= 1
    wal.write_bytes(data)
    with pytest.raises(DamagedError, match="saved entries in it are not what was written"):
        open_log(place)
    done = repair(place, VOCABULARY, NOW_MS, "rotten")
    assert done.n_events + done.n_gone == 30
    assert done.n_gone <= 1
    assert (done.aside.with_name(done.aside.name + "-wal")).read_bytes() == data


def test_after_any_one_lost_page_nearly_all_rows_are_back(tmp_path: Path) -> None:
    """A short log: a page holds a larger share of it. That of 100,000 events is run by hand."""
    store = open_log(small_log(tmp_path / "log", 600, VOCABULARY))
    store.close()
    lost = lose_pages(tmp_path / "log", 6, 2)
    assert lost.n_rows == 600
    assert lost.worst_tried <= lost.worst <= 20
    assert lost.tried == 9


def test_a_lost_page_without_any_snapshot(tmp_path: Path) -> None:
    """The page with the tables' names is gone: SQLite reads nothing, the rows are still there."""
    filled(tmp_path)
    before = content_of(tmp_path)
    file = file_of(tmp_path)
    data = bytearray(file.read_bytes())
    data[:4096] = bytes(4096)
    file.write_bytes(data)
    with pytest.raises(DamagedError):
        open_log(tmp_path)
    assert file.read_bytes() == data
    done = repair(tmp_path, VOCABULARY, NOW_MS, "lost")
    after = content_of(tmp_path)
    assert (done.n_events, done.n_salvaged, done.n_gone, done.snapshot_ms) == (13, 13, 0, None)
    assert {table: rows for table, rows in after.items() if table not in ("meta", "event")} == {
        table: rows for table, rows in before.items() if table not in ("meta", "event")
    }
    assert sorted(row[1:] for row in after["event"]) == sorted(row[1:] for row in before["event"])
    assert done.aside.read_bytes() == data


def test_a_file_cut_short_comes_back_from_the_snapshot_and_what_is_left(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    taken = snapshots.take(store, "daily", NOW_MS)
    save(store, *(keeper.event("looked", ("box", BOXES[0]), 40 + n, {}) for n in range(5)))
    store.database.execute_sql("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    before = content(store)["event"]
    store.close()
    file = file_of(tmp_path)
    whole = file.read_bytes()
    for share in (0.0, 0.05, 0.4, 0.8, 0.99):
        file.write_bytes(whole[: int(len(whole) * share)])
        done = repair(tmp_path, VOCABULARY, NOW_MS, "short")
        assert done.snapshot_ms == taken.at_ms == NOW_MS
        assert 13 <= done.n_events <= 18
        assert done.n_events == 13 + done.n_salvaged
        if share == 0.99:
            assert done.n_salvaged > 2
        assert {row[1] for row in content_of(tmp_path)["event"]} <= {row[1] for row in before}


def test_a_file_that_holds_nothing_of_ours_is_left_alone(tmp_path: Path) -> None:
    garbage = random.Random(1).randbytes(30_000)
    file_of(tmp_path).write_bytes(garbage)
    with pytest.raises(StoreError, match="holds nothing that can be read, and there is no snapshot"):
        repair(tmp_path, VOCABULARY, NOW_MS, "garbage")
    assert file_of(tmp_path).read_bytes() == garbage
    assert [path.name for path in tmp_path.iterdir()] == ["boxside.db"]


def test_a_device_whose_numbers_are_gone_goes_on_under_another_name(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    store.set_meta("device", "this one")
    store.run("DROP TRIGGER event_remains")
    store.run("DELETE FROM event WHERE row = 5")
    store.close()
    assert keeper.n == 13
    repair(tmp_path, VOCABULARY, NOW_MS, "a row is gone")
    store = open_log(tmp_path)
    assert store.meta("device") == ""
    store.close()


def test_a_power_cut_while_one_log_takes_the_place_of_another(tmp_path: Path) -> None:
    """The whole one waits under its own name: whatever was done of the change, the next opening ends it."""
    filled(tmp_path / "log")
    filled(tmp_path / "other", seed=2)
    wanted = content_of(tmp_path / "other")
    log = file_of(tmp_path / "log")
    for done in ("nothing", "no write-ahead file", "all but the name"):
        place = tmp_path / done
        shutil.copytree(tmp_path / "log", place)
        file = file_of(place)
        file.with_name("boxside.db-wal").write_bytes(b"of the old log" * 100)
        shutil.copyfile(file_of(tmp_path / "other"), next_of(file))
        if done != "nothing":
            file.with_name("boxside.db-wal").unlink()
        if done == "all but the name":
            file.unlink()
        assert content_of(place) == wanted, done
        assert not next_of(file).exists()
    assert log.exists()


def test_a_log_put_in_place_is_open_and_can_be_written(tmp_path: Path) -> None:
    keeper = filled(tmp_path / "log")
    filled(tmp_path / "other", seed=2)
    store = open_log(tmp_path / "log")
    replace_with(store, file_of(tmp_path / "other"))
    other = open_log(tmp_path / "other")
    assert state_digest(store) == state_digest(other)
    other.close()
    save(store, keeper.event("looked", ("box", BOXES[0]), 70, {}))
    store.close()


def test_three_snapshots_are_kept_and_each_proves_itself(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    for nth in range(5):
        save(store, keeper.event("looked", ("box", BOXES[0]), 50 + nth, {}))
        snapshots.take(store, "daily", NOW_MS + nth)
    kept = snapshots.snapshots(tmp_path)
    assert [(one.at_ms - NOW_MS, one.n_events, one.why) for one in kept] == [
        (4, 18, "daily"),
        (3, 17, "daily"),
        (2, 16, "daily"),
    ]
    assert all(one.is_whole() for one in kept)
    data = bytearray(kept[0].path.read_bytes())
    for at in range(0, len(data), len(data) // 50):
        data[at] ^= 4
        kept[0].path.write_bytes(data)
        assert not kept[0].is_whole(), at
        data[at] ^= 4
    kept[0].path.write_bytes(bytes(len(data)))
    assert snapshots.newest_whole(tmp_path) == kept[1]
    store.close()


def test_a_snapshot_opens_as_the_log_that_it_was(tmp_path: Path) -> None:
    filled(tmp_path)
    store = open_log(tmp_path)
    taken = snapshots.take(store, "daily", NOW_MS)
    before = content(store)
    store.close()
    (tmp_path / "new").mkdir()
    shutil.copyfile(taken.path, file_of(tmp_path / "new"))
    assert content_of(tmp_path / "new") == before


def test_two_logs_of_one_device_can_be_united(tmp_path: Path) -> None:
    """Where a phone's data was copied to another, both count on under one name from the same number."""
    one, other = Keeper(random.Random(1)), Keeper(random.Random(2))
    store = open_log(tmp_path)
    with saving(store) as log:
        assert log.append(one.event("looked", ("box", BOXES[0]), 1, {}))
        assert log.append(other.event("misted", ("box", BOXES[0]), 1, {}))
    assert store.rows("SELECT device, seq FROM event") == [("phone", 1)] * 2
    store.close()


def test_a_repair_leaves_photos_alone(tmp_path: Path) -> None:
    filled(tmp_path)
    digest = photos.keep(tmp_path, b"a picture")
    file = file_of(tmp_path)
    data = bytearray(file.read_bytes())
    data[:100] = bytes(100)
    file.write_bytes(data)
    repair(tmp_path, VOCABULARY, NOW_MS, "lost")
    assert photos.fault(tmp_path, digest) == ""
    with sqlite3.connect(file) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()
