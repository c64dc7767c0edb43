"""The records of a season as CSV, against a cursor, the same formatting, the csv module and a sync."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from functools import lru_cache
from pathlib import Path
from typing import Any

from boxside.actions.season_rows import ROWS
from boxside.actions.services import Services
from boxside.actions.spans import span_of
from boxside.core.tables import csv_text
from boxside.device.export_folder import write_lines
from tests.bench.row_save import connection_of
from tests.bench.setting import Bench
from tests.bench.table import Row, not_run, size_text, time_text
from tests.bench.timing import side_by_side

# The tables that hold one row or more for an entry; the others follow from them or are as large as the shelf.
RECORDS = ("events", "event_fields", "feedings", "movements")
_STREAM = (
    "SELECT e.id, e.kind, e.subject_type, e.subject_id, e.visit, e.at_ms, e.offset_min, e.tz, e.logged_ms, e.device, "
    "e.seq, e.fields, e.by_whom, e.note, e.voids, e.replaces, s.why FROM event e LEFT JOIN struck s "
    "ON s.event_id = e.id ORDER BY e.at_ms, e.id"
)
_MOVES = (
    "SELECT p.event_id, p.nth, p.at_ms, e.offset_min, p.box, p.cohort, p.stage, p.instar, p.sex, p.account, p.delta "
    "FROM event e CROSS JOIN posting p ON p.event_id = e.id ORDER BY e.at_ms, e.id, p.nth"
)
_ROOT = Path(__file__).parents[2]
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def by_app(services: Services, folder: Path) -> None:
    """Write the records as the app's export does."""
    folder.mkdir(exist_ok=True)
    span = span_of(services, None, None)
    for name in RECORDS:
        header = services.catalog.tables[name].header
        rows = ROWS[name](services, span)
        write_lines(folder / f"{name}.csv", csv_text(_with(header, rows)))


def _with(header: Any, rows: Iterator[Any]) -> Iterator[Any]:
    yield header
    yield from rows


def by_hand(services: Services, folder: Path) -> None:
    """Write the same bytes with a cursor and the csv module."""
    folder.mkdir(exist_ok=True)
    connection = connection_of(services.store)
    codes = dict(connection.execute("SELECT id, shown FROM entity WHERE type = 'box'"))
    units = {
        (kind.name, field.name): field.unit
        for kind in services.catalog.vocabulary.kinds.values()
        for field in kind.fields
    }
    sources = {
        "events": _events(connection, codes),
        "event_fields": _fields(connection, units),
        "feedings": _feedings(connection, codes),
        "movements": _movements(connection, codes),
    }
    for name, rows in sources.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\r\n")
            writer.writerow(services.catalog.tables[name].header)
            writer.writerows(rows)
            file.flush()
            os.fsync(file.fileno())


@lru_cache(maxsize=64)
def _zone(offset_min: int) -> timezone:
    return timezone(timedelta(minutes=offset_min))


def _iso(ms: int, offset_min: int, to: str = "seconds") -> str:
    return (_EPOCH + timedelta(milliseconds=ms)).astimezone(_zone(offset_min)).isoformat(timespec=to)


def _events(connection: Any, codes: dict[str, str]) -> Iterator[tuple[Any, ...]]:
    for r in connection.execute(_STREAM):
        at, logged_at = _iso(r[5], r[6], "milliseconds"), _iso(r[8], 0, "milliseconds")
        yield (
            r[0], r[1], r[2], r[3], codes.get(r[3]), at, r[7], at[:10], r[4], logged_at, r[9], r[10], r[12], r[13],
            r[14], r[15], r[16] or "counts", r[11],
        )  # fmt: skip


def _fields(connection: Any, units: dict[tuple[str, str], str]) -> Iterator[tuple[Any, ...]]:
    for event, kind, text in connection.execute("SELECT id, kind, fields FROM event ORDER BY at_ms, id"):
        for name, value in json.loads(text).items():
            shown = str(value).lower() if isinstance(value, bool) else value
            yield event, kind, name, shown, units.get((kind, name))


def _feedings(connection: Any, codes: dict[str, str]) -> Iterator[tuple[Any, ...]]:
    sql = (
        "SELECT e.id, e.at_ms, e.offset_min, e.tz, e.subject_id, e.fields FROM event e LEFT JOIN struck s "
        "ON s.event_id = e.id WHERE e.kind = 'fed' AND s.event_id IS NULL ORDER BY e.at_ms, e.id"
    )
    for event, at_ms, offset_min, zone, box, text in connection.execute(sql):
        at, said = _iso(at_ms, offset_min), json.loads(text)
        yield (
            event, at, zone, at[:10], box, codes.get(box), said.get("prey"), said.get("batch"), said.get("amount"),
        )  # fmt: skip


def _movements(connection: Any, codes: dict[str, str]) -> Iterator[tuple[Any, ...]]:
    for event, nth, at_ms, offset_min, box, cohort, *line, account, delta in connection.execute(_MOVES):
        at = _iso(at_ms, offset_min)
        yield event, nth, at, at[:10], box, codes.get(box), cohort, *line, account or "present", delta


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the time of an export against its floor, and what it adds to the memory that is held."""
    n = bench.sizes[-1]
    services = bench.services(n, "export")
    ours, floor = bench.work / "ours", bench.work / "floor"
    pair = side_by_side(lambda: by_hand(services, floor), lambda: by_app(services, ours), 3)
    for name in RECORDS:
        if (ours / f"{name}.csv").read_bytes() != (floor / f"{name}.csv").read_bytes():
            raise AssertionError(f"the floor wrote another {name}.csv")
    services.store.close()
    shown = time_text(pair.floor_s), time_text(pair.measured_s)
    yield Row(f"export of {size_text(n)} events, its records", *shown, pair.ratio, "<= 2x", pair.ratio <= 2.0)
    yield _memory(bench, n)


def _memory(bench: Bench, n: int) -> Row:
    """Return by how much the most memory ever held grows in an export, in a process of its own."""
    what, bar = f"memory that an export of {size_text(n)} events adds", "< 20 MB"
    if not Path("/proc/self/status").exists():
        return not_run(what, "only Linux tells how much memory a process has held", bar)
    work = bench.work / "memory"
    work.mkdir()
    place = {**os.environ, "PYTHONPATH": os.pathsep.join((str(_ROOT / "mobileapp"), str(_ROOT)))}
    asked = [sys.executable, "-m", "tests.bench.memory", str(bench.folder), str(work), str(bench.sizes[0]), str(n)]
    done = subprocess.run(asked, capture_output=True, text=True, check=True, cwd=_ROOT, env=place)
    grown_mb = int(done.stdout) / 1000
    return Row(what, "", f"{grown_mb:.1f} MB", None, bar, grown_mb < 20)
