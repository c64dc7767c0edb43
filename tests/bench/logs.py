"""Long invented logs, made fast: rows straight into the log, the state by one rebuild."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from boxside.catalog.catalog import Catalog, load_catalog
from boxside.core.values.event import Event, Json
from boxside.core.values.ids import uuid7
from boxside.core.values.moments import DAY_MS
from boxside.device.folders import bundled
from boxside.store import Store, open_store, saving
from boxside.store.connection import FILE_NAME
from boxside.store.rebuild import rebuild
from boxside.store.rows import INSERT_EVENT, event_row

N_BOXES = 500
N_DUE = 50
ZONE = "Europe/Berlin"
# 1 July 2026, 18:00 UTC: the evening on which every log of this bench is looked at.
NOW_MS = 1_782_928_800_000
_STEP_MS = 300_000
_HERD = 400
# A keeper's year in shares: mostly feeding and looking; few entries move or count animals.
_MIX = (("fed", 45), ("misted", 20), ("looked", 20), ("meal_taken_out", 8), ("died", 4), ("count", 3))


@dataclass(slots=True)
class Writer:
    """Makes events with ids, visits and numbers of their own, in the order of time."""

    chance: random.Random
    device: str = uuid7(1, 1, 1)
    seq: int = 0
    dead: dict[str, int] = field(default_factory=dict)

    def event(self, kind: str, subject: tuple[str, str], at_ms: int, fields: Mapping[str, Json]) -> Event:
        """Return an event of its own visit; a count finds who is left."""
        self.seq += 1
        bits = self.chance.getrandbits(62)
        return Event(
            id=uuid7(at_ms, self.seq % 4096, bits), kind=kind, subject_type=subject[0], subject_id=subject[1],
            visit=uuid7(at_ms, 0, bits), at_ms=at_ms, offset_min=120, tz=ZONE, logged_ms=at_ms,
            device=self.device, seq=self.seq, fields=fields,
        )  # fmt: skip

    def at_box(self, kind: str, box: str, at_ms: int) -> Event:
        """Return an event at a box, with the fields that a keeper would give it."""
        fields: dict[str, Json] = {}
        if kind == "died":
            self.dead[box] = self.dead.get(box, 0) + 1
            fields = {"n": 1, "cause": "unknown"}
        elif kind == "count":
            fields = {"n": _HERD - self.dead.get(box, 0), "complete": True, "method": "hand"}
        elif kind == "fed":
            fields = {"prey": "snail", "amount": 2}
        return self.event(kind, ("box", box), at_ms, fields)


def boxes() -> list[str]:
    """Return the ids of all boxes of an invented shelf."""
    return [uuid7(1000 + n, n, n) for n in range(N_BOXES)]


def story(n_events: int, now_ms: int = NOW_MS, seed: int = 1) -> Iterator[Event]:
    """Yield exactly `n_events` events: boxes and animals, a long history, and a last chapter that leaves 50 due.

    The last chapter is the same for every length, so that only the history differs.
    """
    writer = Writer(random.Random(seed))
    shelf = boxes()
    cohorts = [uuid7(5000 + n, n, n) for n in range(N_BOXES)]
    n_history = n_events - 3 * N_BOXES - 2 * N_BOXES
    begin_ms = now_ms - 30 * DAY_MS - (n_history + 1) * _STEP_MS - DAY_MS
    for nth, (box, cohort) in enumerate(zip(shelf, cohorts, strict=True)):
        yield writer.event("box_made", ("box", box), begin_ms, {"label": f"B{nth:03d}"})
        started: dict[str, Json] = {"name": f"Cohort {nth}", "origin": "founders", "species": "Lampyris noctiluca"}
        yield writer.event("cohort_started", ("cohort", cohort), begin_ms, started)
        stocked: dict[str, Json] = {"cohort": cohort, "n": _HERD, "stage": "larva", "instar": 3, "origin": "founders"}
        yield writer.event("stocked", ("box", box), begin_ms, stocked)
    kinds = [kind for kind, share in _MIX for _ in range(share)]
    for nth in range(n_history):
        at_ms = begin_ms + DAY_MS + nth * _STEP_MS
        yield writer.at_box(writer.chance.choice(kinds), writer.chance.choice(shelf), at_ms)
    yield from _last_chapter(writer, shelf, now_ms)


def _last_chapter(writer: Writer, shelf: list[str], now_ms: int) -> Iterator[Event]:
    """Yield what was done last: all boxes renewed and fed today, but for fifty that were fed long ago."""
    for box in shelf:
        yield writer.at_box("substrate_renewed", box, now_ms - DAY_MS // 4)
    for nth, box in enumerate(shelf):
        is_due = nth % (N_BOXES // N_DUE) == 0
        yield writer.at_box("fed", box, now_ms - (20 * DAY_MS if is_due else DAY_MS // 5))


def catalog() -> Catalog:
    """Return what the app reads from `shared/`."""
    return load_catalog(bundled("shared"))


def make(folder: Path, events: Iterator[Event], parts: Catalog) -> Store:
    """Write events into a new log and derive its state; return the open log."""
    store = open_store(folder, parts.vocabulary)
    with saving(store):
        store.run_many(INSERT_EVENT, (event_row(event) for event in events))
    with saving(store):
        rebuild(store)
    store.database.execute_sql("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    return store


def kept(folder: Path, n_events: int, parts: Catalog, now_ms: int = NOW_MS) -> Path:
    """Return the folder of a log of that length that ends on that day, made now where it is not there yet."""
    place = folder / f"log-{n_events}-{now_ms // DAY_MS}"
    if not (place / FILE_NAME).exists():
        making = folder / f"making-{n_events}"
        shutil.rmtree(making, ignore_errors=True)
        make(making, story(n_events, now_ms), parts).close()
        making.rename(place)
    return place
