"""Many archives as one data set: every entry once, keepers told apart, all or nothing."""

from __future__ import annotations

import builtins
import json
import zipfile
from pathlib import Path
from typing import Any

import pyarrow.dataset as ds
import pytest

from boxside.actions import gather
from boxside.catalog.catalog import Catalog
from boxside.core.values.errors import DataError, DeviceError, EntryError
from tests.actions.gathering import archives, merged


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory, catalog: Catalog) -> list[Path]:
    """Archives of three keepers; nobody writes to them."""
    return archives(tmp_path_factory.mktemp("three"), catalog, 3)


def rows(out: Path, name: str) -> list[dict[str, Any]]:
    return ds.dataset(out / name, format="parquet", partitioning="hive").to_table().to_pylist()


def lines(path: Path) -> list[dict[str, Any]]:
    with zipfile.ZipFile(path) as archive:
        return [json.loads(line) for line in archive.read("events.jsonl").splitlines()]


def test_every_event_of_every_archive_is_there_once(three: list[Path], catalog: Catalog, tmp_path: Path) -> None:
    done = gather.gather(catalog, three, tmp_path / "out")
    said = {event["id"]: event for path in three for event in lines(path)}
    found = {row["event"]: row for row in rows(tmp_path / "out", "events")}
    assert (done.n_archives, done.n_keepers, done.n_twice) == (3, 3, 0)
    assert done.n_events == len(found) == len(said)
    for name, row in found.items():
        event = said[name]
        assert (row["kind"], row["subject"], row["device"], row["seq"]) == (
            event["kind"], event["subject_id"], event["device"], event["seq"],
        )  # fmt: skip
        assert int(row["at"].timestamp() * 1000) == event["at_ms"]
        assert json.loads(row["fields"]) == event["fields"]
        assert row["year"] == row["day"].year
    moved = rows(tmp_path / "out", "movements")
    assert done.n_movements == len(moved)
    per_event: dict[str, int] = {}
    for row in moved:
        per_event[row["event"]] = per_event.get(row["event"], 0) + row["change"]
    assert set(per_event.values()) == {0}, "double entry"
    present = sum(row["change"] for row in moved if row["account"] == "present")
    assert present == 30 + (31 - 1) + (32 - 2)


def test_phones_of_one_keeper_are_one_and_what_both_hold_is_there_once(
    three: list[Path], catalog: Catalog, tmp_path: Path
) -> None:
    other = merged(tmp_path, catalog, three[1], "other")
    forth = gather.gather(catalog, [*three, other], tmp_path / "forth")
    back = gather.gather(catalog, [other, *reversed(three)], tmp_path / "back")
    assert (forth.n_keepers, forth.n_twice) == (back.n_keepers, back.n_twice) == (3, len(lines(three[1])))
    key = lambda row: row["event"]  # noqa: E731
    assert sorted(rows(forth.path, "events"), key=key) == sorted(rows(back.path, "events"), key=key)


def test_a_damaged_archive_stops_it_all(three: list[Path], catalog: Catalog, tmp_path: Path) -> None:
    broken = tmp_path / "broken.zip"
    broken.write_bytes(three[0].read_bytes()[:-400])
    with pytest.raises(DataError, match=r"broken\.zip"):
        gather.gather(catalog, [three[0], broken], tmp_path / "out")
    assert [path.name for path in tmp_path.iterdir()] == ["broken.zip"]


def test_an_id_for_two_things_stops_it_all(three: list[Path], catalog: Catalog, tmp_path: Path) -> None:
    forged = tmp_path / "forged.zip"
    forge(three[0], forged)
    with pytest.raises(EntryError, match="stand for other entries in an archive before it"):
        gather.gather(catalog, [three[0], forged], tmp_path / "out")
    assert not (tmp_path / "out").exists()


def forge(source: Path, target: Path) -> None:
    """Write an archive in which one event says something else, and whose digests hold all the same."""
    import hashlib

    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        events = old.read("events.jsonl").replace(b'"n":30', b'"n":31')
        manifest = json.loads(old.read("manifest.json"))
        for member in manifest["members"]:
            data = events if member["path"] == "events.jsonl" else old.read(member["path"])
            member["sha256"], member["bytes"] = hashlib.sha256(data).hexdigest(), len(data)
            new.writestr(member["path"], data)
        new.writestr("manifest.json", json.dumps(manifest))


def test_a_folder_that_holds_something_is_left_alone(three: list[Path], catalog: Catalog, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(EntryError, match="is not an empty folder"):
        gather.gather(catalog, three, tmp_path / "out")
    (tmp_path / "empty").mkdir()
    assert gather.gather(catalog, three[:1], tmp_path / "empty").n_archives == 1
    with pytest.raises(EntryError, match="No archive is named"):
        gather.gather(catalog, [], tmp_path / "none")


def test_without_pyarrow_it_says_what_to_install(
    three: list[Path], catalog: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def none_of_it(name: str, *rest: Any, **more: Any) -> Any:
        if name.partition(".")[0] == "pyarrow":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", none_of_it)
    with pytest.raises(DeviceError, match=r"pip install 'boxside\[gather\]'"):
        gather.gather(catalog, three, tmp_path / "out")
    assert not (tmp_path / "out").exists()
