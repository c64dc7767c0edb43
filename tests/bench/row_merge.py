"""An archive taken in, its events validated and streamed, against parsing and executemany; and the state after it."""

from __future__ import annotations

import hashlib
import json
import os
import random
import sqlite3
import statistics
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from boxside.actions import make_archive
from boxside.actions.archive_events import events_of
from boxside.core.archive import EVENTS
from boxside.core.values.ids import uuid7
from boxside.core.values.moments import DAY_MS
from boxside.device.archive_reading import open_archive
from boxside.store import open_store, saving, trying
from boxside.store.catching_up import catch_up
from boxside.store.merging import unite
from boxside.store.migrations.m0001_start import _TABLES
from boxside.store.rebuild import rebuild, state_digest
from tests.bench.logs import NOW_MS, Writer, boxes
from tests.bench.setting import Bench
from tests.bench.table import Row, not_run, size_text, time_text
from tests.bench.timing import side_by_side

_ROOT = Path(__file__).parents[2]
_NAMES = (
    "id", "kind", "subject_type", "subject_id", "visit", "at_ms", "offset_min", "tz", "logged_ms", "device", "seq",
)  # fmt: skip
_INDEXES = (
    "CREATE UNIQUE INDEX event_id ON event (id)",
    "CREATE INDEX event_voids ON event (voids) WHERE voids IS NOT NULL",
    "CREATE INDEX event_replaces ON event (replaces) WHERE replaces IS NOT NULL",
    "CREATE INDEX event_seq ON event (device, seq)",
    "CREATE INDEX event_at ON event (at_ms, id)",
    "CREATE INDEX event_photo ON event (json_extract(fields, '$.sha256')) WHERE kind = 'photo'",
)


def archive(bench: Bench, n: int) -> Path:
    """Return the archive of a log of that length, made now where it is not there yet."""
    place = bench.folder / f"archive-{n}.zip"
    if not place.exists():
        services = bench.services(n, "archived")
        make_archive.make_archive(services, place)
        services.store.close()
    return place


def by_app(bench: Bench, source: Path, folder: Path) -> None:
    """Take an archive's events into an empty log, every one validated, without the state."""
    store = open_store(folder, bench.parts.vocabulary)
    with open_archive(source) as opened, saving(store):
        unite(store, events_of(opened, bench.parts.vocabulary))
    store.close()


def by_hand(lines: Path, folder: Path) -> None:
    """Write the same rows with json, sha256 and executemany, and the indexes after."""
    with lines.open("rb") as file:
        keep_by_hand(map(_row, file), folder)


def keep_by_hand(events: Iterable[tuple[Any, ...]], folder: Path) -> None:
    """Write rows of events into a new file with executemany, the indexes after."""
    folder.mkdir()
    connection = sqlite3.connect(folder / "floor.db", isolation_level=None)
    connection.execute("PRAGMA journal_mode = wal")
    connection.execute("PRAGMA synchronous = 2")
    connection.execute("PRAGMA cache_size = -16000")
    table = next(part for part in _TABLES.split(";\n") if "CREATE TABLE event (" in part)
    connection.execute(table.replace("id TEXT NOT NULL UNIQUE", "id TEXT NOT NULL"))
    connection.execute("BEGIN IMMEDIATE")
    connection.executemany(f"INSERT INTO event VALUES (NULL, {', '.join('?' * 17)})", events)
    for statement in _INDEXES:
        connection.execute(statement)
    connection.execute("COMMIT")
    connection.close()


def _row(line: bytes) -> tuple[Any, ...]:
    said = json.loads(line)
    fields = json.dumps(said["fields"], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    row = [*(said[name] for name in _NAMES), fields, *map(said.get, ("by", "note", "voids", "replaces"))]
    text = json.dumps(row, separators=(",", ":"), ensure_ascii=False)
    return (*row, hashlib.sha256(text.encode()).digest())


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the time of a merge's events against their floor, the memory it adds, and the state by itself."""
    n = bench.sizes[-1]
    source, lines = archive(bench, n), bench.work / "events.jsonl"
    with open_archive(source) as opened, lines.open("wb") as file:
        for piece in opened.pieces(opened.member(EVENTS)):
            file.write(piece)
    turn = iter(range(1000))
    pair = side_by_side(
        lambda: by_hand(lines, bench.work / f"floor-{next(turn)}"),
        lambda: by_app(bench, source, bench.work / f"ours-{next(turn)}"),
        1 if n >= 1_000_000 else 3,
    )
    check_same(bench.work)
    shown = time_text(pair.floor_s), time_text(pair.measured_s)
    yield Row(f"merge of {size_text(n)} events, without state", *shown, pair.ratio, "<= 3x", pair.ratio <= 3.0)
    yield _memory(bench, n)
    yield _state(bench, bench.sizes[1])


def check_same(work: Path) -> None:
    """Raise where the floor wrote other rows."""
    digests = set()
    for name in (*work.glob("floor-*/floor.db"), *work.glob("ours-*/boxside.db")):
        connection, whole = sqlite3.connect(name), hashlib.sha256()
        for row in connection.execute("SELECT * FROM event ORDER BY row"):
            whole.update(repr(row).encode())
        connection.close()
        digests.add(whole.digest())
    if len(digests) != 1:
        raise AssertionError("the floor wrote other rows")


def _memory(bench: Bench, n: int) -> Row:
    """Return by how much the most memory ever held grows in a merge, in a process of its own."""
    what, bar = f"memory that a merge of {size_text(n)} events adds", "< 100 MB"
    if not Path("/proc/self/status").exists():
        return not_run(what, "only Linux tells how much memory a process has held", bar)
    work = bench.work / "memory"
    work.mkdir()
    place = {**os.environ, "PYTHONPATH": os.pathsep.join((str(_ROOT / "mobileapp"), str(_ROOT)))}
    sources = [str(archive(bench, size)) for size in (bench.sizes[0], n)]
    asked = [sys.executable, "-m", "tests.bench.merge_memory", str(work), *sources]
    done = subprocess.run(asked, capture_output=True, text=True, check=True, cwd=_ROOT, env=place)
    grown_mb = int(done.stdout) / 1000
    return Row(what, "", f"{grown_mb:.1f} MB", None, bar, grown_mb < 100)


def _state(bench: Bench, n: int) -> Row:
    """Return the cost of the state after a merge that reaches into the past of all boxes, against a rebuild."""
    services = bench.services(n, "state")
    store = services.store
    writer = Writer(random.Random(9), device=uuid7(2, 2, 2))
    events = [
        writer.at_box("died", box, NOW_MS - 200 * DAY_MS + nth * 1000)
        for nth, box in enumerate(boxes() * (n // 10_000))
    ]
    digests: list[str] = []

    def merged() -> None:
        with trying(store):
            found = unite(store, events)
            begin = time.perf_counter()
            catch_up(store, found.first_row)
            times.append(time.perf_counter() - begin)
            digests.append(state_digest(store))

    def rebuilt() -> None:
        with trying(store):
            unite(store, events)
            begin = time.perf_counter()
            rebuild(store)
            others.append(time.perf_counter() - begin)
            digests.append(state_digest(store))

    times: list[float] = []
    others: list[float] = []
    for _ in range(3):
        rebuilt()
        merged()
    store.close()
    if len(set(digests)) != 1:
        raise AssertionError("the state is another one than that of a rebuild")
    floor_s, ours_s = statistics.median(others), statistics.median(times)
    what = f"state after {len(events)} late deaths in all boxes of {size_text(n)} events, against a rebuild"
    return Row(what, time_text(floor_s), time_text(ours_s), ours_s / floor_s, "<= 1.1x", ours_s <= 1.1 * floor_s)
