"""Photos beside the log: named by what they hold, whole or not there."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from boxside.core.values.errors import StoreError
from boxside.store.photos import keep, path_of, sweep

PICTURE = b"\xff\xd8 a picture \xff\xd9" * 500


def files(folder: Path) -> list[Path]:
    """Return every file below a folder."""
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_a_photo_is_named_by_what_it_holds(tmp_path: Path) -> None:
    digest = keep(tmp_path, PICTURE)
    assert digest == hashlib.sha256(PICTURE).hexdigest()
    assert files(tmp_path) == [path_of(tmp_path, digest)]
    assert path_of(tmp_path, digest).read_bytes() == PICTURE


def test_the_same_photo_again_is_kept_once(tmp_path: Path) -> None:
    assert keep(tmp_path, PICTURE) == keep(tmp_path, PICTURE)
    assert len(files(tmp_path)) == 1


def test_a_photo_that_was_cut_short_is_written_again(tmp_path: Path) -> None:
    digest = keep(tmp_path, PICTURE)
    path_of(tmp_path, digest).write_bytes(PICTURE[:100])
    assert keep(tmp_path, PICTURE) == digest
    assert path_of(tmp_path, digest).read_bytes() == PICTURE


@pytest.mark.parametrize("call", ["fsync", "replace", "write"])
def test_a_disk_that_refuses_leaves_nothing_behind(call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    if call == "write":
        monkeypatch.setattr(os, "fdopen", refuse)
    elif call == "replace":
        monkeypatch.setattr(Path, "replace", refuse)
    else:
        monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(StoreError, match=r"The photo was not saved.*The log is as before\. Free some space"):
        keep(tmp_path, PICTURE)
    assert files(tmp_path) == []


def test_what_an_interrupted_save_left_is_swept_and_photos_stay(tmp_path: Path) -> None:
    digest = keep(tmp_path, PICTURE)
    (path_of(tmp_path, digest).parent / ".new-abc").write_bytes(PICTURE[:100])
    assert sweep(tmp_path) == 1
    assert sweep(tmp_path) == 0
    assert files(tmp_path) == [path_of(tmp_path, digest)]
