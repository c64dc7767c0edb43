"""An exported table of events taken in, every line validated, against the csv module, sha256 and executemany."""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from boxside.actions import import_events
from boxside.actions.season_rows import ROWS
from boxside.actions.services import Services
from boxside.actions.spans import span_of
from boxside.core.tables import csv_text
from boxside.device.export_folder import write_lines
from boxside.store import open_store, saving
from boxside.store.merging import unite
from tests.bench.row_merge import check_same, keep_by_hand
from tests.bench.setting import Bench
from tests.bench.table import Row, size_text, time_text
from tests.bench.timing import side_by_side

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def written(services: Services, path: Path) -> None:
    """Write the table of events of a log."""
    rows = ROWS["events"](services, span_of(services, None, None))
    header = services.catalog.tables["events"].header
    write_lines(path, csv_text(row for part in ([header], rows) for row in part))


def by_app(services: Services, table: Path, folder: Path) -> None:
    """Take the events into an empty log, every one validated, without the state."""
    place, form = import_events._opened(table)
    seen = import_events._Seen()
    store = open_store(folder, services.catalog.vocabulary)
    with saving(store):
        unite(store, import_events._events(services, place, form, seen))
    store.close()
    if seen.problems:
        raise AssertionError(f"a line was refused: {seen.problems[0]}")


def by_hand(table: Path, folder: Path) -> None:
    """Write the same rows with the csv module, sha256 and executemany."""
    with table.open(encoding="utf-8", newline="") as file:
        keep_by_hand(map(_row, csv.DictReader(file)), folder)


def _ms(text: str) -> tuple[int, int]:
    moment = datetime.fromisoformat(text)
    offset = moment.utcoffset() or timedelta()
    return (moment - _EPOCH) // timedelta(milliseconds=1), offset // timedelta(minutes=1)


def _row(said: dict[str, str]) -> tuple[Any, ...]:
    at_ms, offset_min = _ms(said["at"])
    fields = json.dumps(json.loads(said["fields"]), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    row = [
        said["event"], said["kind"], said["subject_type"], said["subject"], said["visit"], at_ms, offset_min,
        said["zone"], _ms(said["logged_at"])[0], said["device"], int(said["seq"]), fields,
        *(said[name] or None for name in ("by", "note", "voids", "replaces")),
    ]  # fmt: skip
    text = json.dumps(row, separators=(",", ":"), ensure_ascii=False)
    return (*row, hashlib.sha256(text.encode()).digest())


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the time of an import's events against their floor."""
    n = bench.sizes[-1]
    services = bench.services(n, "imported")
    table = bench.work / "events.csv"
    written(services, table)
    turn = iter(range(1000))
    pair = side_by_side(
        lambda: by_hand(table, bench.work / f"floor-{next(turn)}"),
        lambda: by_app(services, table, bench.work / f"ours-{next(turn)}"),
        1 if n >= 1_000_000 else 3,
    )
    services.store.close()
    check_same(bench.work)
    shown = time_text(pair.floor_s), time_text(pair.measured_s)
    yield Row(f"import of {size_text(n)} events, without state", *shown, pair.ratio, "<= 3x", pair.ratio <= 3.0)
