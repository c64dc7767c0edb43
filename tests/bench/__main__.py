"""One table of what things cost, each against its floor in the same run.

python -m tests.bench [--quick] [--keep DIR]
"""

from __future__ import annotations

import argparse
import random
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from boxside.actions.services import Services
from boxside.catalog.catalog import Catalog
from boxside.device.fake import build as fake_device
from boxside.store import Store, open_store, saving
from boxside.store.rebuild import rebuild
from tests.bench import logs, row_due, row_save, row_start
from tests.bench.timing import median_s, once, side_by_side
from tests.torture.disk import Disk
from tests.torture.onto import open_on

SIZES, QUICK = (10_000, 100_000, 1_000_000), (5_000, 10_000, 20_000)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    what: str
    floor: str
    measured: str
    ratio: str
    bar: str
    held: bool


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--quick", action="store_true", help="short logs and few repeats: a first look only")
    parser.add_argument("--keep", metavar="DIR", help="keep the long logs here for the next run")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.keep or None) as made:
        folder = Path(asked.keep or made)
        show(measure(folder, Path(made), QUICK if asked.quick else SIZES, 40 if asked.quick else 400))
    return 0


def show(rows: Iterator[Row]) -> None:
    """Print the table, a line as soon as it is there."""
    line = "{:58} {:>12} {:>12} {:>8} {:>10}  {}"
    print(line.format("what", "floor", "measured", "ratio", "bar", "held"))
    for row in rows:
        held = "yes" if row.held else "no"
        print(line.format(row.what, row.floor, row.measured, row.ratio, row.bar, held), flush=True)


def measure(folder: Path, scratch: Path, sizes: tuple[int, ...], n: int) -> Iterator[Row]:
    """Yield the lines, the long logs made on the way."""
    parts = logs.catalog()
    places = {size: logs.kept(folder, size, parts) for size in sizes}
    for size in sizes:
        for kind in ("fed", "died"):
            yield save_row(row_save.copy_of(places[size], scratch / f"save-{kind}-{size}"), kind, size, n, parts)
    yield sync_row(scratch / "syncs", parts)
    yield from due_rows(places, scratch, parts)
    yield late_row(scratch, parts)
    yield start_row(places[sizes[-1]], scratch, 5 if n > 100 else 2)


def save_row(folder: Path, kind: str, size: int, n: int, parts: Catalog) -> Row:
    """Measure one durable save against the same rows by hand, in turns on one log."""
    store = open_store(folder, parts.vocabulary)
    shelf, writer = logs.boxes(), logs.Writer(random.Random(2))
    make = row_save.next_events(store, kind, shelf, writer)
    by_store = row_save.by_store(store)
    by_hand = row_save.by_hand(row_save.connection_of(store), row_save.cohorts_of(store))
    pair = side_by_side(lambda: by_hand(make()), lambda: by_store(make()), n)
    store.close()
    shutil.rmtree(folder)
    return ratio_row(f"durable save, {kind}, {size:,} events before", pair.floor_s, pair.measured_s, 1.25)


def ratio_row(what: str, floor_s: float, measured_s: float, bar: float) -> Row:
    """Return a line that holds while the ratio stays within its bar."""
    ratio = measured_s / floor_s
    return Row(what, ms(floor_s), ms(measured_s), f"{ratio:.2f}x", f"<= {bar:g}x", ratio <= bar)


def ms(seconds: float) -> str:
    """Return seconds as milliseconds."""
    return f"{seconds * 1000:.3f} ms"


def sync_row(folder: Path, parts: Catalog) -> Row:
    """Count what a save asks of the disk."""
    folder.mkdir()
    disk = Disk("bench")
    store = open_on(disk, folder, parts.vocabulary)
    writer = logs.Writer(random.Random(3))
    found = []
    for nth in range(50):
        event = writer.at_box("fed", logs.boxes()[nth], logs.NOW_MS + nth)
        before = disk.calls.copy()
        with saving(store) as log:
            log.append(event)
        asked = disk.calls - before
        found.append((asked["sync boxside.db-wal"], sum(n for what, n in asked.items() if what.endswith("boxside.db"))))
    store.close()
    disk.unregister()
    held = all(one == (1, 0) for one in found)
    wal, file = max(one[0] for one in found), max(one[1] for one in found)
    return Row("syncs of the write-ahead file a save; of the log itself", "1; 0", f"{wal}; {file}", "", "1; 0", held)


def due_rows(places: dict[int, Path], scratch: Path, parts: Catalog) -> Iterator[Row]:
    """Measure fifty due boxes at each length of history."""
    found: list[float] = []
    for size, place in places.items():
        store = open_store(place, parts.vocabulary)
        services = services_on(store, scratch, parts)
        ask = row_due.by_actions(services)
        floor_s = median_s(row_due.by_sql(store, "2026-07-01"), 50)
        found.append(median_s(ask, 50))
        boxes = len(ask())  # type: ignore[arg-type]
        what = f"{boxes} due boxes with reasons of 500, {size:,} events"
        yield Row(what, ms(floor_s), ms(found[-1]), f"{found[-1] / floor_s:.1f}x", "<= 20 ms", found[-1] <= 0.020)
        store.close()
    growth = found[-1] / found[0]
    first, last = min(places), max(places)
    yield Row(f"the same, {last:,} against {first:,} events", ms(found[0]), ms(found[-1]), f"{growth:.2f}x", "<= 1.2x",
              growth <= 1.2)  # fmt: skip


def services_on(store: Store, folder: Path, parts: Catalog) -> Services:
    """Return services on an open log, standing at the bench's evening."""
    return Services(store, fake_device(folder, logs.NOW_MS), parts)


def late_row(scratch: Path, parts: Catalog) -> Row:
    """Measure a late death at the beginning of a component of 10,000 ledger events against a full rebuild."""
    writer = logs.Writer(random.Random(4))
    box, cohort = logs.boxes()[0], logs.uuid7(9, 9, 9)
    begin_ms = logs.NOW_MS - 10_001 * 60_000
    stocked = {"cohort": cohort, "n": 50_000, "stage": "larva", "instar": 3, "origin": "founders"}
    events = [
        writer.event("box_made", ("box", box), begin_ms - 3, {"label": "B000"}),
        writer.event("cohort_started", ("cohort", cohort), begin_ms - 2, {"name": "C", "origin": "founders"}),
        writer.event("stocked", ("box", box), begin_ms - 1, stocked),
        *(writer.at_box("died", box, begin_ms + n * 60_000) for n in range(10_000)),
    ]
    store = logs.make(scratch / "late", iter(events), parts)

    def whole() -> None:
        with saving(store):
            rebuild(store)

    def late() -> None:
        with saving(store) as log:
            log.append(writer.at_box("died", box, begin_ms))

    floor_s = min(once(whole) for _ in range(3))
    measured_s = median_s(late, 5)
    store.close()
    return ratio_row("late event before 10,000 others of its box, to a rebuild", floor_s, measured_s, 1.0)


def start_row(place: Path, scratch: Path, n: int) -> Row:
    """Measure the start to the first due box against bare Kivy."""
    data = row_save.copy_of(place, scratch / "start")
    row_start.first_box(data)()
    pair = side_by_side(row_start.hello(), row_start.first_box(data), n)
    return ratio_row("start to the first due box, longest log, to bare Kivy", pair.floor_s, pair.measured_s, 2.0)


if __name__ == "__main__":
    sys.exit(main())
