"""Many archives as one data set: every event once, by keeper and year, for whoever calculates over many colonies."""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from boxside.actions.archive_events import events_of
from boxside.catalog.catalog import Catalog
from boxside.core.values.errors import EntryError, StoreError
from boxside.core.values.event import Event
from boxside.core.values.moments import DAY_MS, from_ms
from boxside.device.archive_reading import open_archive
from boxside.device.export_folder import write_lines
from boxside.device.parquet import check_parquet, write_parquet
from boxside.store import Store, merging, open_store, reading, saving
from boxside.store.rebuild import rebuild
from boxside.store.scope import FIRST_MS, LAST_MS

Row = tuple[object, ...]
PARTITIONS = ("keeper", "year")
EVENTS = (
    ("keeper", "string"), ("year", "int16"), ("event", "string"), ("kind", "string"), ("subject_type", "string"),
    ("subject", "string"), ("visit", "string"), ("at", "instant"), ("offset_min", "int16"), ("zone", "string"),
    ("day", "date"), ("logged_at", "instant"), ("device", "string"), ("seq", "int64"), ("by", "string"),
    ("note", "string"), ("voids", "string"), ("replaces", "string"), ("standing", "string"), ("fields", "string"),
)  # fmt: skip
MOVEMENTS = (
    ("keeper", "string"), ("year", "int16"), ("event", "string"), ("nth", "int32"), ("at", "instant"), ("day", "date"),
    ("box", "string"), ("cohort", "string"), ("stage", "string"), ("instar", "int16"), ("sex", "string"),
    ("account", "string"), ("change", "int64"),
)  # fmt: skip
_ABOUT = "gathered.json"


@dataclass(frozen=True, slots=True)
class Gathered:
    """A data set that was written: where, from how many archives and keepers, and the rows of its tables.

    `n_twice` events were in more than one archive and are in the data set once.
    """

    path: Path
    n_archives: int
    n_keepers: int
    n_events: int
    n_movements: int
    n_twice: int


def gather(catalog: Catalog, archives: Sequence[Path], out: Path) -> Gathered:
    """Write the events and the ledger's postings of archives as Parquet, `keeper=.../year=.../`, all or nothing.

    A keeper is whoever kept one log: devices that ever stood in one archive together. Its name is the least id of
    these devices.

    Raises
    ------
    EntryError : if no archive is named, one is not there, the folder is not empty, or an id stands for two things
    DataError : saying what is wrong with which archive
    DeviceError : if pyarrow is not installed
    StoreError : if the disk refuses
    """
    check_parquet()
    _check_out(archives, out)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".gather-", dir=out.parent) as work:
            return _gathered(catalog, archives, out, Path(work))
    except OSError as error:
        raise StoreError(f"{out} was not written: {error}. Free some space.") from error


def _check_out(archives: Sequence[Path], out: Path) -> None:
    if not archives:
        raise EntryError("No archive is named. Nothing was written.")
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise EntryError(f"{out} is not an empty folder. Nothing was written. Choose another.")


def _gathered(catalog: Catalog, archives: Sequence[Path], out: Path, work: Path) -> Gathered:
    """Unite all archives in a log of their own, so that the rules of a merge decide, and write that one out."""
    keepers: dict[str, str] = {}
    store = open_store(work / "log", catalog.vocabulary)
    try:
        n_twice = sum(_unite(store, path, keepers) for path in archives)
        with saving(store):
            rebuild(store)
        made = work / "set"
        names = {device: _first(keepers, device) for device in keepers}
        n_events = write_parquet(made / "events", EVENTS, PARTITIONS, _event_rows(store, names))
        n_movements = write_parquet(made / "movements", MOVEMENTS, PARTITIONS, _movement_rows(store, names))
    finally:
        store.close()
    done = Gathered(out, len(archives), len(set(names.values())), n_events, n_movements, n_twice)
    _explain(made, done, archives)
    if out.exists():
        out.rmdir()
    shutil.move(made, out)
    return done


def _unite(store: Store, path: Path, keepers: dict[str, str]) -> int:
    """Add an archive's events and its devices; return how many events were there already."""
    devices: set[str] = set()

    def seen(events: Iterator[Event]) -> Iterator[Event]:
        for event in events:
            devices.add(event.device)
            yield event

    with open_archive(path) as archive, saving(store) as log:
        found = merging.unite(log.store, seen(events_of(archive, store.vocabulary)))
        if found.n_clashes:
            raise EntryError(
                f"{path}: {found.n_clashes} ids stand for other entries in an archive before it, the first is "
                f"{found.clashes[0]}. Nothing was written."
            )
    firsts = {_first(keepers, device) for device in devices}
    for first in firsts:
        keepers[first] = min(firsts)
    return found.n_known


def _first(keepers: dict[str, str], device: str) -> str:
    """Return the least device of those that stood in archives together with this one."""
    while keepers.setdefault(device, device) != device:
        device = keepers[device]
    return device


def _place(at_ms: int, offset_min: int) -> tuple[int, int]:
    """Return the local year and day, days since 1970."""
    wall_ms = at_ms + offset_min * 60_000
    return from_ms(wall_ms).year, wall_ms // DAY_MS


def _event_rows(store: Store, names: dict[str, str]) -> Iterator[Row]:
    for row in reading.event_rows(store, FIRST_MS, LAST_MS):
        event, kind, subject_type, subject, visit, at_ms, offset_min, zone, logged_ms, device, seq, fields = row[:12]
        year, day = _place(at_ms, offset_min)
        yield (
            names[device], year, event, kind, subject_type, subject, visit, at_ms, offset_min, zone, day, logged_ms,
            device, seq, *row[12:16], row[16] or "counts", fields,
        )  # fmt: skip


def _movement_rows(store: Store, names: dict[str, str]) -> Iterator[Row]:
    for event, nth, at_ms, offset_min, box, cohort, stage, instar, sex, account, change, device in reading.postings(
        store, FIRST_MS, LAST_MS, with_device=True
    ):
        year, day = _place(at_ms, offset_min)
        yield (
            names[device], year, event, nth, at_ms, day, box or None, cohort or None, stage, instar, sex,
            account or "present", change,
        )  # fmt: skip


def _explain(folder: Path, done: Gathered, archives: Sequence[Path]) -> None:
    about = {
        "format": "boxside-gathered",
        "version": 1,
        "archives": [path.name for path in archives],
        "keepers": done.n_keepers,
        "events": done.n_events,
        "movements": done.n_movements,
    }
    write_lines(folder / _ABOUT, [json.dumps(about, indent=1, ensure_ascii=False) + "\n"])
    write_lines(folder / "README.txt", [_README])


_README = """\
A data set gathered from Boxside archives, as Parquet files in folders keeper=.../year=.../ of two tables:

events/     every entry once, taken-back and corrected ones among them (standing says which count); fields is JSON
movements/  the headcount's double entry: changes of lines (box, cohort, stage, instar, sex) and of accounts outside

at and logged_at are instants in UTC, day is the keeper's calendar day. With DuckDB:

    SELECT keeper, count(*) AS feedings FROM read_parquet('events/**/*.parquet', hive_partitioning = true)
    WHERE kind = 'fed' AND standing = 'counts' GROUP BY keeper ORDER BY keeper;
"""
