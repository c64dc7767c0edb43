"""Archives: everything in one file, the same bytes for the same log, proved by reading back, due by the calendar."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from boxside.actions import export_season, keep_archives, make_archive, settings
from boxside.core.archive import EVENTS, MANIFEST
from boxside.core.values.errors import DataError, EntryError, StoreError
from boxside.core.values.keeping import ArchiveView
from boxside.core.values.views import Notice
from boxside.store import photos
from tests.actions.carrying import archive, files_of, held, photograph
from tests.actions.keeping import Keeper

Make = Callable[..., Keeper]


def kept(keeper: Keeper, tmp_path: Path) -> str:
    keeper.add("B01")
    keeper.log("B01", "fed", prey="garden snail")
    return photograph(keeper, "B01", tmp_path)


def test_an_archive_holds_everything_and_says_what(keeper: Keeper, tmp_path: Path) -> None:
    sha256 = kept(keeper, tmp_path)
    view = make_archive.make_archive(keeper.services, tmp_path / "a.zip")
    files = files_of(tmp_path / "a.zip")
    assert view.text == f"{view.contents.n_events} events, 1 photo, newest 3 May"
    assert len(files[EVENTS].splitlines()) == view.contents.n_events == keeper.n_events()
    assert {MANIFEST, EVENTS, "README.txt", "copies/events.toml", f"photos/{sha256[:2]}/{sha256}.jpg"} <= set(files)
    assert make_archive.verify_archive(keeper.services, tmp_path / "a.zip") == view


def test_the_same_log_gives_the_same_bytes_wherever_and_whenever(make_keeper: Make, tmp_path: Path) -> None:
    from boxside.actions import merge_archive

    one = make_keeper("one")
    kept(one, tmp_path)
    first = archive(one, tmp_path / "1.zip").read_bytes()
    one.stand("2027-01-01")
    assert archive(one, tmp_path / "2.zip").read_bytes() == first
    other = make_keeper("other", zone="Asia/Tokyo")
    merge_archive.restore_archive(other.services, tmp_path / "1.zip")
    assert archive(other, tmp_path / "3.zip").read_bytes() == first


def test_no_flipped_bit_of_an_archive_goes_unseen(keeper: Keeper, tmp_path: Path) -> None:
    """But for times and modes in the zip's own lists, which nothing reads: there the content is what was written."""
    kept(keeper, tmp_path)
    whole = archive(keeper, tmp_path / "a.zip").read_bytes()
    before = files_of(tmp_path / "a.zip")
    unseen = 0
    for at in range(0, len(whole), max(1, len(whole) // 700)):
        bad = bytearray(whole)
        bad[at] ^= 1 << at % 8
        (tmp_path / "b.zip").write_bytes(bad)
        try:
            make_archive.verify_archive(keeper.services, tmp_path / "b.zip")
        except (DataError, EntryError):
            continue
        assert files_of(tmp_path / "b.zip") == before, at
        unseen += 1
    assert unseen < 30


def test_an_archive_cut_short_anywhere_is_refused(keeper: Keeper, tmp_path: Path) -> None:
    kept(keeper, tmp_path)
    whole = archive(keeper, tmp_path / "a.zip").read_bytes()
    for length in range(0, len(whole), max(1, len(whole) // 60)):
        (tmp_path / "b.zip").write_bytes(whole[:length])
        with pytest.raises(DataError):
            make_archive.verify_archive(keeper.services, tmp_path / "b.zip")


def test_a_photo_that_is_gone_is_told_and_the_rest_is_archived(keeper: Keeper, tmp_path: Path) -> None:
    sha256 = kept(keeper, tmp_path)
    other = photograph(keeper, "B01", tmp_path, with_place=False)
    assert sha256 == other, "what the camera noted is not kept, so both are one photo"
    photos.path_of(keeper.services.device.data_dir, sha256).write_bytes(b"changed")
    view = make_archive.make_archive(keeper.services, tmp_path / "a.zip")
    assert (view.contents.n_photos, view.contents.n_missing) == (0, 1)
    assert view.notice is not None
    assert "1 photo could not be put into the archive" in view.notice.what
    assert make_archive.verify_archive(keeper.services, tmp_path / "a.zip").contents.n_missing == 1


def test_a_changed_entry_is_never_archived(keeper: Keeper, tmp_path: Path) -> None:
    kept(keeper, tmp_path)
    good = archive(keeper, tmp_path / "a.zip").read_bytes()
    keeper.services.store.run("DROP TRIGGER event_stays")
    keeper.services.store.run("UPDATE event SET note = 'rotten' WHERE kind = 'fed'")
    with pytest.raises(StoreError, match=r"is not what was written.*boxside repair"):
        archive(keeper, tmp_path / "a.zip")
    assert (tmp_path / "a.zip").read_bytes() == good
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.zip", "log", "p.jpg"]


def test_an_archive_is_not_written_where_it_cannot_be(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    with pytest.raises(EntryError, match="is a folder"):
        archive(keeper, tmp_path)
    with pytest.raises(EntryError, match="is no folder"):
        archive(keeper, tmp_path / "none" / "a.zip")
    with pytest.raises(EntryError, match="There is no file"):
        make_archive.verify_archive(keeper.services, tmp_path / "none.zip")


def test_archives_make_themselves_by_the_calendar(keeper: Keeper, tmp_path: Path) -> None:
    folder = tmp_path / "card"
    folder.mkdir()
    keeper.add("B01")
    assert keep_archives.keeping_view(keeper.services).last == "never"
    assert keep_archives.archive_if_due(keeper.services) is None, "no folder was chosen"
    settings.change_setting(keeper.services, "archive_every", "7")
    view = keep_archives.choose_archive_folder(keeper.services, folder)
    assert (view.folder, view.every, view.is_old) == (str(folder), "Week", False)
    assert keep_archives.archive_if_due(keeper.services) is None, "the log is of today"
    keeper.stand("2026-05-10")
    assert keep_archives.keeping_view(keeper.services).is_old
    made = keep_archives.archive_if_due(keeper.services)
    assert isinstance(made, ArchiveView)
    assert made.path == str(folder / "boxside-2026-05-10.zip")
    assert keep_archives.keeping_view(keeper.services).last == "10 May"
    assert not keep_archives.keeping_view(keeper.services).is_old
    keeper.stand("2026-05-16")
    assert keep_archives.archive_if_due(keeper.services) is None
    keeper.stand("2026-05-17")
    assert keep_archives.archive_if_due(keeper.services) is None, "nothing was logged since"
    assert not keep_archives.keeping_view(keeper.services).is_old
    keeper.log("B01", "misted")
    keeper.stand("2026-05-24")
    assert isinstance(keep_archives.archive_if_due(keeper.services), ArchiveView)
    assert sorted(path.name for path in folder.iterdir()) == ["boxside-2026-05-10.zip", "boxside-2026-05-24.zip"]


def test_a_folder_that_is_gone_is_told(keeper: Keeper, tmp_path: Path) -> None:
    folder = tmp_path / "card"
    folder.mkdir()
    keeper.add("B01")
    keep_archives.choose_archive_folder(keeper.services, folder)
    folder.rmdir()
    keeper.stand("2026-06-01")
    before = held(keeper)
    told = keep_archives.archive_if_due(keeper.services)
    assert isinstance(told, Notice)
    assert "was not made" in told.what
    assert told.bad
    assert keep_archives.keeping_view(keeper.services).is_old, "it is still due"
    assert held(keeper) == before
    with pytest.raises(EntryError, match="is not there"):
        keep_archives.choose_archive_folder(keeper.services, folder)
    keep_archives.choose_archive_folder(keeper.services, None)
    assert keep_archives.archive_if_due(keeper.services) is None


def test_a_keeper_without_archive_is_told_and_one_who_wants_none_is_not(keeper: Keeper) -> None:
    keeper.add("B01")
    assert keep_archives.old_notice(keeper.services) is None
    keeper.stand("2026-05-17")
    old = keep_archives.old_notice(keeper.services)
    assert old is not None
    assert old.what == "No archive yet."
    settings.change_setting(keeper.services, "archive_every", "off")
    assert keep_archives.old_notice(keeper.services) is None


def test_an_export_is_not_an_archive(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    keeper.stand("2026-06-01")
    export_season.export_season(keeper.services, tmp_path / "season")
    assert keep_archives.is_old(keeper.services)
