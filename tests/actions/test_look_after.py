"""What the app does by itself: a copy a day, the log looked through, a damaged one repaired and the keeper told."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from unittest import mock

import pytest

from boxside.actions import check_log, keep_archives, keep_snapshots, look_after, repair_log, start
from boxside.app import wiring
from boxside.core.values.errors import StoreError
from boxside.core.values.moments import DAY_MS
from boxside.store import DamagedError, checking, photos, snapshots
from tests.actions.carrying import held, photograph
from tests.actions.keeping import Keeper

Make = Callable[..., Keeper]


def spoil(keeper: Keeper) -> str:
    """Change what is in a row behind the log's back; return the entry."""
    store = keeper.services.store
    (row,) = store.rows("SELECT id FROM event WHERE kind = 'fed' ORDER BY row DESC LIMIT 1")
    store.run("DROP TRIGGER IF EXISTS event_stays")
    store.run("UPDATE event SET fields = replace(fields, 'snail', 'snaim') WHERE id = ?", (row[0],))
    return str(row[0])


def test_the_newest_copy_is_never_older_than_a_day_of_use(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    day = date(2026, 5, 3)
    for nth in range(40):
        keeper.stand(day + timedelta(nth))
        look_after.look_after(keeper.services)
        keeper.log("B01", "misted")
        look_after.look_after(keeper.services)
        copies = snapshots.snapshots(tmp_path / "log")
        assert len(copies) == min(nth + 1, 3)
        assert keeper.services.clock.now_ms() - copies[0].at_ms < DAY_MS
        assert copies[0].is_whole()


def test_a_log_that_has_not_grown_is_not_copied_again(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    for nth in range(5):
        keeper.stand(date(2026, 5, 3) + timedelta(nth))
        assert look_after.look_after(keeper.services) == ()
    assert len(snapshots.snapshots(tmp_path / "log")) == 1


def test_a_damaged_log_is_repaired_and_told_in_words(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    keeper.log("B01", "fed", prey="garden snail")
    look_after.look_after(keeper.services)
    before = held(keeper)
    keeper.stand("2026-05-04")
    keeper.log("B01", "misted")
    after = held(keeper)
    spoil(keeper)
    assert not check_log.check_log(keeper.services).is_sound
    (notice,) = look_after.look_after(keeper.services)
    assert held(keeper) == after != before
    assert notice.bad
    assert notice.what == "The log was damaged on the disk and has been repaired."
    assert notice.safe == (
        f"{keeper.n_events()} entries are there: the copy of 3 May and 1 newer entry read out of the damaged file."
    )
    assert "The damaged file is kept" in notice.do
    assert len(list((tmp_path / "log" / "aside").iterdir())) == 1
    assert check_log.check_log(keeper.services).is_sound
    keeper.log("B01", "fed", prey="garden snail")


def test_what_neither_copy_nor_file_holds_any_more_is_said_to_be_lost(keeper: Keeper) -> None:
    keeper.add("B01")
    keeper.log("B01", "fed", prey="garden snail")
    keeper.log("B01", "misted")
    n = keeper.n_events()
    spoil(keeper)
    done = repair_log.repair_log(keeper.services)
    assert (done.n_events, done.n_unreadable) == (n - 1, 1)
    assert "there was no copy" in done.notice.safe
    assert "1 entry could not be read and is lost" in done.notice.safe
    keeper.log("B01", "misted")


def test_damage_never_takes_the_place_of_a_whole_copy(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    keeper.log("B01", "fed", prey="garden snail")
    look_after.look_after(keeper.services)
    keeper.stand("2026-05-04")
    keeper.log("B01", "misted")
    spoil(keeper)
    look_after.look_after(keeper.services)
    for copy in snapshots.snapshots(tmp_path / "log"):
        assert copy.is_whole()
        assert checking.check_rows(copy.path).n_bad == 0
    # The control: without the rows' digests the damaged log would have been copied.
    keeper.stand("2026-05-05")
    keeper.log("B01", "fed", prey="garden snail")
    spoil(keeper)
    with mock.patch("boxside.store.checking.is_as_written", return_value=True):
        look_after.look_after(keeper.services)
    assert checking.check_rows(snapshots.snapshots(tmp_path / "log")[0].path).n_bad == 1


def test_a_copy_that_was_made_of_damage_does_not_bring_it_back(keeper: Keeper) -> None:
    """As before a merge, when nobody has looked yet: its bytes are what was written, and one of its rows is not."""
    keeper.add("B01")
    keeper.log("B01", "fed", prey="garden snail")
    n = keeper.n_events()
    spoil(keeper)
    copy = keep_snapshots.take_snapshot(keeper.services, "merge")
    assert copy.is_whole()
    done = repair_log.repair_log(keeper.services)
    assert (done.n_events, done.n_unreadable) == (n - 1, 1)
    assert check_log.check_log(keeper.services).is_sound
    assert repair_log.repair_log(keeper.services).aside == ""


def test_a_damaged_state_is_derived_again_and_a_sound_log_left_alone(keeper: Keeper) -> None:
    keeper.add("B01")
    before = held(keeper)
    assert repair_log.repair_log(keeper.services).notice.what == "Nothing is damaged."
    keeper.services.store.run("UPDATE balance SET n = n + 1 WHERE account = ''")
    report = check_log.check_log(keeper.services)
    assert [line.what for line in report.lines if line.n_bad] == ["state"]
    done = repair_log.repair_log(keeper.services)
    assert "derived again" in done.notice.what
    assert done.aside == ""
    assert held(keeper) == before


def test_a_check_names_photos_and_copies_that_are_not_what_was_written(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    sha256 = photograph(keeper, "B01", tmp_path)
    look_after.look_after(keeper.services)
    report = check_log.check_log(keeper.services)
    assert report.is_sound
    assert [(line.what, line.n) for line in report.lines] == [
        ("file", 1), ("entries", keeper.n_events()), ("state", 1), ("photos", 1), ("copies", 1),
    ]  # fmt: skip
    photos.path_of(tmp_path / "log", sha256).unlink()
    (copy,) = snapshots.snapshots(tmp_path / "log")
    copy.path.write_bytes(copy.path.read_bytes()[:-1])
    report = check_log.check_log(keeper.services)
    assert [(line.what, line.n_bad) for line in report.lines if line.n_bad] == [("photos", 1), ("copies", 1)]
    assert f"{sha256[:12]} missing" in report.notice.what
    assert "1 damaged copy of the log removed" in repair_log.repair_log(keeper.services).notice.what
    assert snapshots.snapshots(tmp_path / "log") == []


def test_a_log_that_does_not_open_is_repaired_at_the_start_and_the_start_says_so(
    tmp_path: Path, demo_folder: Path
) -> None:
    shutil.copytree(demo_folder, tmp_path / "log")
    services = wiring.build(tmp_path / "log", date(2026, 5, 3))
    n = services.store.rows("SELECT count(*) FROM event")
    services.store.close()
    file = tmp_path / "log" / "boxside.db"
    data = bytearray(file.read_bytes())
    data[:4096] = bytes(4096)
    file.write_bytes(data)
    services = wiring.build(tmp_path / "log", date(2026, 5, 4))
    assert services.store.rows("SELECT count(*) FROM event") == n
    notice = start.start_view(services).notice
    assert notice is not None
    assert notice.what == "The log was damaged on the disk and has been repaired."
    assert start.start_view(services).notice is None, "it is said once"
    services.store.close()


def test_a_start_that_cannot_repair_says_what_is_wrong_and_changes_nothing(tmp_path: Path) -> None:
    (tmp_path / "boxside.db").write_bytes(b"no database at all" * 1000)
    with pytest.raises(DamagedError, match=r"file is not a database. Nothing was changed"):
        wiring.build(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["boxside.db"]


def test_a_new_form_of_the_log_is_copied_before_it_is_made(tmp_path: Path) -> None:
    services = wiring.build(tmp_path / "log", date(2026, 5, 3))
    start.begin_empty(services)
    services.store.run("PRAGMA user_version = 1")
    services.store.run("DROP INDEX event_seq")
    services.store.run("CREATE UNIQUE INDEX event_seq ON event (device, seq)")
    services.store.close()
    wiring.build(tmp_path / "log").store.close()
    assert [one.why for one in snapshots.snapshots(tmp_path / "log")] == ["update"]


def test_a_disk_that_refuses_the_copy_is_told(keeper: Keeper) -> None:
    keeper.add("B01")
    with mock.patch("boxside.store.snapshots.rename", side_effect=OSError(28, "No space left")):
        (notice,) = look_after.look_after(keeper.services)
    assert "No copy of the log could be set aside" in notice.what
    assert "Free some space" in notice.do
    assert keep_archives.keeping_view(keeper.services).snapshots == ()


def test_a_log_for_reading_only_is_not_looked_after(keeper: Keeper) -> None:
    keeper.add("B01")
    keeper.services.store.why_read_only = "it is of a newer Boxside"
    assert look_after.look_after(keeper.services) == ()
    with pytest.raises(StoreError, match="Nothing was repaired"):
        repair_log.repair_log(keeper.services)
