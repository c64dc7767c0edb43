"""Files on their way out: labels written, folders packed the same way each time, the share sheet given what it is."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Any

import pytest

from boxside.actions.hand_out import packed, share_files
from boxside.actions.print_labels import labels_bytes, save_labels
from boxside.core.values.errors import DeviceError, EntryError, StoreError
from boxside.device.zipped import zip_folder
from tests.actions.keeping import Keeper


def folder(at: Path) -> Path:
    (at / "season" / "plots").mkdir(parents=True)
    (at / "season" / "boxes.csv").write_text("box\nB01\n", encoding="utf-8")
    (at / "season" / "plots" / "a.svg").write_text("<svg/>", encoding="utf-8")
    return at / "season"


def test_a_folder_is_packed_whole_and_the_same_each_time(tmp_path: Path) -> None:
    path = zip_folder(folder(tmp_path))
    first = path.read_bytes()
    (tmp_path / "season" / "boxes.csv").touch()
    assert zip_folder(tmp_path / "season").read_bytes() == first
    with zipfile.ZipFile(path) as opened:
        assert opened.testzip() is None
        assert opened.namelist() == ["season/boxes.csv", "season/plots/a.svg"]
        assert opened.read("season/boxes.csv") == b"box\nB01\n"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["season", "season.zip"]


def test_a_disk_that_refuses_leaves_the_older_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = zip_folder(folder(tmp_path))
    first = path.read_bytes()

    def full(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "open", full)
    with pytest.raises(StoreError, match="No space left"):
        zip_folder(tmp_path / "season")
    assert path.read_bytes() == first
    assert sorted(one.name for one in tmp_path.iterdir()) == ["season", "season.zip"]


def test_folders_are_shared_as_one_file_and_files_as_they_are(keeper: Keeper, tmp_path: Path) -> None:
    files: Any = keeper.services.device.files
    text = tmp_path / "away.txt"
    text.write_text("x", encoding="utf-8")
    share_files(keeper.services, [folder(tmp_path)])
    share_files(keeper.services, [str(text)])
    zipped = str(tmp_path / "season.zip")
    assert files.shared == [((zipped,), "application/zip"), ((str(text),), "text/plain")]
    assert packed(keeper.services, [text, tmp_path / "season"]) == (str(text), zipped)
    files.has_share = False
    with pytest.raises(DeviceError, match="Save it instead"):
        share_files(keeper.services, [text])


def test_labels_are_written_for_all_or_for_some(keeper: Keeper) -> None:
    with pytest.raises(EntryError, match="no box yet"):
        save_labels(keeper.services)
    for code in ("B01", "B02"):
        keeper.add(code, n=3, instar=1, fed="today")
    path = save_labels(keeper.services)
    assert path.read_bytes() == labels_bytes(keeper.services)
    assert save_labels(keeper.services, ["B02"]) == path
    assert path.read_bytes() == labels_bytes(keeper.services, ["B02"])
