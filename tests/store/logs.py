"""Logs of the tests' own: small, filled, and read back whole."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

from boxside.core.values.event import Event
from boxside.store import Store, open_store, saving
from boxside.store.connection import FILE_NAME
from tests.torture.deeds import BOXES, COHORTS, Keeper, vocabulary

VOCABULARY = vocabulary()
_TABLES = ("meta", "event", "struck", "touch", "posting", "flag", "latest", "entity")
CONTENT = {name: f"SELECT * FROM {name}" for name in _TABLES} | {"balance": "SELECT * FROM balance WHERE n <> 0"}
HERD = 40


def open_log(folder: Path) -> Store:
    """Open the log in a folder."""
    return open_store(folder, VOCABULARY)


def save(store: Store, *events: Event) -> None:
    """Save each event in a transaction of its own."""
    for event in events:
        with saving(store) as log:
            assert log.append(event)


def content(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    """Return everything that a log holds, but for the cache of due tasks."""
    return {table: sorted(store.rows(sql), key=repr) for table, sql in CONTENT.items()}


def content_of(folder: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Open a log, read everything and close it."""
    store = open_log(folder)
    try:
        return content(store)
    finally:
        store.close()


def filled(folder: Path, seed: int = 1) -> Keeper:
    """Make a closed log with boxes, animals, deaths, a count, a correction and something taken back."""
    keeper = Keeper(random.Random(seed))
    store = open_log(folder)
    for nth, box in enumerate(BOXES):
        made = keeper.event("box_made", ("box", box), nth, {"label": f"B{nth}"})
        stocked = keeper.event("stocked", ("box", box), nth, {"cohort": COHORTS[nth % 2], "n": HERD, "stage": "larva"})
        save(store, made, stocked)
        keeper.logged += [made, stocked]
    died = keeper.event("died", ("box", BOXES[0]), 20, {"n": 1})
    fed = keeper.event("fed", ("box", BOXES[0]), 21, {"prey": "snail", "amount": 2})
    counted = keeper.event("count", ("box", BOXES[0]), 30, {"n": 35, "complete": True})
    better = keeper.event("died", ("box", BOXES[0]), 20, {"n": 3}, replaces=died.id)
    undone = keeper.event("void", ("box", BOXES[0]), 31, {}, voids=fed.id)
    save(store, died, fed, counted, better, undone)
    keeper.logged += [died, fed, counted, better]
    store.close()
    return keeper


def file_of(folder: Path) -> Path:
    """Return the file that a log is in."""
    return folder / FILE_NAME
