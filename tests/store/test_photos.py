"""Photos beside the log: named by what they hold, whole or not there."""

from __future__ import annotations

import hashlib
import os
import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from boxside.core.values.errors import StoreError
from boxside.core.values.moments import DAY_MS
from boxside.store import Store
from boxside.store.photos import keep, path_of, sweep
from tests.store.logs import BOXES, open_log, save
from tests.torture.deeds import Keeper

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


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty log beside the photos."""
    store = open_log(tmp_path)
    yield store
    store.close()


def test_what_interrupted_saves_left_is_swept_once_it_is_old_and_photos_stay(tmp_path: Path, store: Store) -> None:
    """Named photos stay for ever; files half written and photos that no entry names go after a day."""
    named, orphan = keep(tmp_path, PICTURE), keep(tmp_path, PICTURE + b"2")
    half = path_of(tmp_path, named).parent / ".new-abc"
    half.write_bytes(PICTURE[:100])
    save(store, Keeper(random.Random(1)).event("photo", ("box", BOXES[0]), 1, {"sha256": named}))
    written_ms = half.stat().st_mtime_ns // 1_000_000
    assert sweep(store, tmp_path, written_ms + DAY_MS // 2) == 0
    assert sweep(store, tmp_path, written_ms + 2 * DAY_MS) == 2
    assert sweep(store, tmp_path, written_ms + 2 * DAY_MS) == 0
    assert [path for path in files(tmp_path) if path.suffix == ".jpg"] == [path_of(tmp_path, named)]
    assert not path_of(tmp_path, orphan).exists()


def test_whether_a_photo_is_named_is_looked_up_not_searched(tmp_path: Path, store: Store) -> None:
    """Otherwise each start would read the whole log once for every photo."""
    keep(tmp_path, PICTURE)
    asked: list[str] = []
    store.database.connection().set_trace_callback(asked.append)
    assert sweep(store, tmp_path, 1 << 60) == 1
    store.database.connection().set_trace_callback(None)
    (sql,) = asked
    assert [row[3] for row in store.rows(f"EXPLAIN QUERY PLAN {sql}")] == [
        "SEARCH event USING INDEX event_photo (<expr>=?)"
    ]
