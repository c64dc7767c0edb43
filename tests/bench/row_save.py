"""One durable save against the same rows written by hand through the same connection."""

from __future__ import annotations

import hashlib
import json
import random
import sqlite3
from collections.abc import Callable, Iterator

from boxside.core.values.event import Event
from boxside.store import Store, saving
from boxside.store.connection import FILE_NAME
from boxside.store.rebuild import rebuild, state_digest
from tests.bench.logs import NOW_MS, Writer, boxes
from tests.bench.setting import Bench
from tests.bench.table import Row, size_text, time_text
from tests.bench.timing import Pair, side_by_side
from tests.torture.disk import Disk
from tests.torture.onto import open_on

Save = Callable[[Event], None]

_EVENT = (
    "INSERT INTO event (id, kind, subject_type, subject_id, visit, at_ms, offset_min, tz, logged_ms, device, seq, "
    "fields, by_whom, note, voids, replaces, digest) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)"
)
_TOUCH = "INSERT INTO touch VALUES (?,?,?,?,?,?,?,?,?)"
_LATEST = (
    "INSERT INTO latest VALUES (?,?,?,?,?,?,?,?) ON CONFLICT (subject_type, subject_id, kind, key) DO UPDATE SET "
    "visit_ms = excluded.visit_ms, phase = excluded.phase, at_ms = excluded.at_ms, event_id = excluded.event_id"
)
_POSTING = "INSERT INTO posting VALUES (?,?,?,?,?,?,?,?,?,?,?,?)"
_BALANCE = (
    "INSERT INTO balance VALUES (?,?,?,?,?,?,?) ON CONFLICT (box, cohort, stage, instar, sex, account) "
    "DO UPDATE SET n = n + excluded.n"
)


def by_store(store: Store) -> Save:
    """Return the save as the app does it."""

    def save(event: Event) -> None:
        with saving(store) as log:
            log.append(event)

    return save


def by_hand(connection: sqlite3.Connection, cohorts: dict[str, str]) -> Save:
    """Return the save of a feeding or of one death as somebody would write it who knows all the answers.

    Nothing is looked up: not whether the id is new, whether anything corrects the event, who lives in the
    box or whether a later event is there.
    """
    run = connection.execute

    def save(event: Event) -> None:
        box, at_ms = event.subject_id, event.at_ms
        fields = json.dumps(event.fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        said = (
            event.id, event.kind, event.subject_type, box, event.visit, at_ms, event.offset_min, event.tz,
            event.logged_ms, event.device, event.seq, fields, None, None, None, None,
        )  # fmt: skip
        digest = hashlib.sha256(json.dumps(said, separators=(",", ":"), ensure_ascii=False).encode()).digest()
        visit_ms = int(event.visit[:8] + event.visit[9:13], 16)
        is_death = event.kind == "died"
        place = (visit_ms, 0 if is_death else 1, at_ms, event.id)
        run("BEGIN IMMEDIATE")
        run(_EVENT, (*said, digest))
        run(_TOUCH, ("box", box, *place, event.kind, "", int(is_death)))
        run(_LATEST, ("box", box, event.kind, "", *place))
        if is_death:
            line = (cohorts[box], "larva", 3, "unknown")
            for nth, (account, delta) in enumerate((("", -1), ("dead", 1))):
                run(_POSTING, (box, *place, nth, *line, account, delta))
                run(_BALANCE, (box, *line, account, delta))
        run("DELETE FROM due_box WHERE box = ?", (box,))
        run("COMMIT")

    return save


def cohorts_of(store: Store) -> dict[str, str]:
    """Return who lives in each box of an invented log."""
    return dict(store.rows("SELECT DISTINCT box, cohort FROM balance WHERE account = ''"))


def next_events(store: Store, kind: str, shelf: list[str], writer: Writer) -> Callable[[], Event]:
    """Return what makes one event after another, each at another box and a minute later."""
    found = store.row("SELECT max(seq) FROM event WHERE device = ?", (writer.device,))
    writer.seq = int(found[0] or 0) if found else 0
    at_ms = NOW_MS

    def make() -> Event:
        nonlocal at_ms
        at_ms += 60_000
        return writer.at_box(kind, writer.chance.choice(shelf), at_ms)

    return make


def connection_of(store: Store) -> sqlite3.Connection:
    """Return the connection that a store writes through: the same cache, file and pragmas."""
    connection = store.database.connection()
    if not isinstance(connection, sqlite3.Connection):
        raise TypeError("the floor is written through sqlite3")
    return connection


def rows(bench: Bench) -> Iterator[Row]:
    """Yield a feeding and a death against their floors, and what a save asks of the disk."""
    services = bench.services(bench.sizes[0], "save")
    store = services.store
    for kind, what in (("fed", "a feeding"), ("died", "a death")):
        pair = measured(store, kind, bench.n_times)
        shown = time_text(pair.floor_s), time_text(pair.measured_s)
        yield Row(
            f"one durable save of {what}, {size_text(bench.sizes[0])} events",
            *shown,
            pair.ratio,
            "<= 1.25x",
            pair.ratio <= 1.25,
        )
    digest = state_digest(store)
    with saving(store):
        rebuild(store)
    if state_digest(store) != digest:
        raise AssertionError("the floor wrote other rows than the store")
    store.close()
    yield _syncs(bench)


def measured(store: Store, kind: str, n: int) -> Pair:
    """Return the medians of `n` saves by hand and `n` by the store, in turns, checkpoints between them."""
    make = next_events(store, kind, boxes(), Writer(random.Random(3)))
    acts = by_hand(connection_of(store), cohorts_of(store)), by_store(store)
    return side_by_side(*acts, n, make, store.checkpoint)


def _syncs(bench: Bench) -> Row:
    """Count what saves ask of the disk, between checkpoints."""
    disk = Disk("bench")
    try:
        store = open_on(disk, bench.work / "syncs", bench.parts.vocabulary)
        writer, shelf = Writer(random.Random(4)), boxes()
        asked = []
        for nth in range(200):
            before = disk.calls.copy()
            by_store(store)(writer.at_box("fed" if nth % 2 else "died", shelf[nth % 9], NOW_MS + nth))
            asked.append(disk.calls - before)
        store.close()
    finally:
        disk.unregister()
    most = max(one[f"sync {FILE_NAME}-wal"] for one in asked)
    folded = sum(one[f"write {FILE_NAME}"] + one[f"sync {FILE_NAME}"] for one in asked)
    shown = f"{most} sync, {folded} checkpoints"
    return Row(
        "syncs of the write-ahead file in a save",
        "1 sync",
        shown,
        float(most),
        "1, no checkpoint",
        most == 1 and not folded,
    )
