"""Rot on the disk: flipped bits, lost pages, files cut short, and what is noticed and comes back.

By hand: `python -m tests.torture.rot --flips 2000 --events 100000`.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from boxside.core.values.errors import StoreError
from boxside.core.values.vocabulary import Vocabulary
from boxside.store import Store, checking, open_store, snapshots
from boxside.store.connection import FILE_NAME, SQLITE_ERRORS, DamagedError
from boxside.store.pages import open_pages
from boxside.store.repairing import repair, salvaged
from tests.bench.logs import catalog, make, story
from tests.torture.deeds import Keeper, held, vocabulary
from tests.torture.onto import synchronous

NOW_MS = 1_800_000_000_000
PAGE = 4096
# What is due is a cache that is thrown away each day.
_TABLES = ("meta", "event", "struck", "touch", "posting", "balance", "flag", "latest", "entity")
_N_COLUMNS = 18


@dataclass(slots=True)
class Flips:
    """What became of flipped bits: how many changed a row, how many of these were noticed, and by what alone."""

    n: int = 0
    changed: int = 0
    missed: int = 0
    missed_by_sqlite: int = 0
    not_whole_again: int = 0
    where: list[str] = field(default_factory=list)


def rows_of(path: Path) -> dict[str, Any]:
    """Return all rows of a log as SQLite reads them, or what it says where it cannot."""
    found: dict[str, Any] = {}
    connection = sqlite3.connect(path)
    connection.text_factory = bytes
    try:
        for table in _TABLES:
            found[table] = Counter(connection.execute(f"SELECT * FROM {table} NOT INDEXED"))
    except sqlite3.Error as error:
        found["error"] = str(error)
    finally:
        connection.close()
    return found


def faults(folder: Path, words: Vocabulary) -> tuple[str, str]:
    """Return what the app finds wrong with a log, and what SQLite's own check alone finds."""
    try:
        store = open_store(folder, words)
    except (StoreError, *SQLITE_ERRORS) as error:
        return str(error), str(error)
    try:
        by_sqlite = checking.structure_fault(store)
        said = by_sqlite or checking.rows_fault(store.path) or checking.notes_fault(store)
        if not said and not store.why_read_only and not checking.state_follows(store):
            said = "the state does not follow"
        return said, by_sqlite
    except SQLITE_ERRORS as error:
        return str(error), str(error)
    finally:
        store.close()


def flip_bits(folder: Path, n: int, seed: int, words: Vocabulary) -> Flips:
    """Flip one bit at a time, anywhere in a log's file, and see whether what it changed is noticed and mended."""
    chance = random.Random(seed)
    whole = (folder / FILE_NAME).read_bytes()
    before = rows_of(_copied(folder, folder.with_name("flip-0")) / FILE_NAME)
    events = before["event"]
    found = Flips(n=n)
    for nth in range(1, n + 1):
        place = folder.with_name(f"flip-{nth}")
        shutil.copytree(folder, place)
        bad = bytearray(whole)
        at = chance.randrange(len(bad))
        bad[at] ^= 1 << chance.randrange(8)
        (place / FILE_NAME).write_bytes(bad)
        if rows_of(place / FILE_NAME) != before:
            found.changed += 1
            said, by_sqlite = faults(place, words)
            found.missed += not said
            found.missed_by_sqlite += not by_sqlite
            if not said:
                found.where.append(f"byte {at}")
            found.not_whole_again += not _is_whole_again(place, words, events)
        shutil.rmtree(place)
    return found


def _is_whole_again(folder: Path, words: Vocabulary, events: Counter[Any]) -> bool:
    """Repair a log that has a snapshot of all of it, and compare the entries."""
    repair(folder, words, NOW_MS, "flipped")
    after = rows_of(folder / FILE_NAME)
    said, _ = faults(folder, words)
    # Rows may be numbered anew.
    return not said and {row[1:] for row in after["event"]} == {row[1:] for row in events}


def _copied(folder: Path, place: Path) -> Path:
    return Path(shutil.copytree(folder, place))


@dataclass(slots=True)
class Lost:
    """What single lost pages cost: pages tried, rows in all, and the most rows that one page took."""

    n_pages: int
    n_rows: int
    worst: int = 0
    tried: int = 0
    worst_tried: int = 0

    @property
    def back(self) -> float:
        """The share of rows that are back after the worst lost page."""
        return 1 - max(self.worst, self.worst_tried) / self.n_rows


def rows_a_page(path: Path) -> tuple[Counter[int], int]:
    """Return how many rows of the log stand on each page, and how many pages there are."""
    found: Counter[int] = Counter()
    with path.open("rb") as file:
        pages = open_pages(file)
        for number in range(1, pages.n_pages + 1):
            page = pages.page(number)
            start = 100 if number == 1 else 0
            if page[start] == 0x0D:
                found[number] += sum(1 for _ in pages.cells(page, start, _N_COLUMNS))
        return found, pages.n_pages


def lose_pages(folder: Path, n: int, seed: int) -> Lost:
    """Lose one page at a time and count the rows that can still be read, without any snapshot.

    Every page is looked at for how many rows stand on it; the first, the fullest and `n` others are really lost.
    """
    log = folder / FILE_NAME
    standing, n_pages = rows_a_page(log)
    found = Lost(n_pages, sum(standing.values()), max(standing.values()))
    chance = random.Random(seed)
    fullest = max(standing, key=lambda number: standing[number])
    place = folder.with_name("lost.db")
    for number in [1, 2, fullest, *(chance.randint(3, n_pages) for _ in range(n))]:
        shutil.copyfile(log, place)
        with place.open("r+b") as file:
            file.seek((number - 1) * PAGE)
            file.write(bytes(PAGE) if chance.random() < 0.5 else chance.randbytes(PAGE))
        back = sum(1 for _ in salvaged(place))
        found.tried += 1
        found.worst_tried = max(found.worst_tried, found.n_rows - back)
    return found


@dataclass(slots=True)
class Tail:
    """What flips in the write-ahead file did: noticed, only the last save forgotten, more forgotten in silence."""

    n: int = 0
    noticed: int = 0
    last_only: int = 0
    silent: int = 0


def flip_wal(folder: Path, n: int, seed: int, words: Vocabulary) -> Tail:
    """Flip bits in the write-ahead file of a log that was killed; `folder` holds both files."""
    chance, found = random.Random(seed), Tail(n=n)
    wal = (folder / f"{FILE_NAME}-wal").read_bytes()
    first = _copied(folder, folder.with_name("wal-0"))
    store = open_store(first, words)
    ids, _ = held(store)
    store.close()
    for nth in range(1, n + 1):
        place = _copied(folder, folder.with_name(f"wal-{nth}"))
        bad = bytearray(wal)
        bad[chance.randrange(len(bad))] ^= 1 << chance.randrange(8)
        (place / f"{FILE_NAME}-wal").write_bytes(bad)
        try:
            store = open_store(place, words)
        except DamagedError:
            found.noticed += 1
        else:
            n_gone = len(ids) - len(held(store)[0])
            found.last_only += n_gone == 1
            found.silent += n_gone > 1
            store.close()
        shutil.rmtree(place)
    return found


def killed(folder: Path, n: int, words: Vocabulary) -> Path:
    """Make a log of `n` saves whose process was killed: nothing is folded in, the write-ahead file is full."""
    source = folder / "alive"
    store = open_store(source, words)
    Keeper(random.Random(5)).work(store, n, lambda _: None)
    place = folder / "killed"
    place.mkdir()
    for name in (FILE_NAME, f"{FILE_NAME}-wal"):
        shutil.copyfile(source / name, place / name)
    store.close()
    return place


def small_log(folder: Path, n: int, words: Vocabulary) -> Path:
    """Make a log of `n` varied saves with a snapshot of all of it."""
    store: Store = open_store(folder, words)
    Keeper(random.Random(3)).work(store, n, lambda _: None)
    store.set_meta("device", "this one")
    snapshots.take(store, "daily", NOW_MS)
    store.database.execute_sql("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    store.close()
    return folder


def _lines(asked: argparse.Namespace, place: Path) -> Iterator[tuple[bool, str]]:
    words = vocabulary()
    flips = flip_bits(small_log(place / "small", 300, words), asked.flips, asked.seed, words)
    yield (
        flips.missed == flips.not_whole_again == 0,
        (
            f"flipped bits: {flips.n}, {flips.changed} changed a row, {flips.missed} of these missed "
            f"{flips.where[:5]}, {flips.not_whole_again} not whole again after repair"
        ),
    )
    share = flips.missed_by_sqlite / max(1, flips.changed)
    yield share > 0.2, f"control: without the rows' digests {flips.missed_by_sqlite} are missed ({100 * share:.0f} %)"
    tail = flip_wal(killed(place, 60, words), asked.flips, asked.seed, words)
    yield (
        tail.silent == 0,
        (
            f"flips in the write-ahead file: {tail.n}, {tail.noticed} noticed, {tail.last_only} forgot the last save "
            f"alone, {tail.silent} forgot more in silence"
        ),
    )
    make(place / "long", story(asked.events), catalog()).close()
    lost = lose_pages(place / "long", asked.pages, asked.seed)
    yield (
        lost.back >= 0.99,
        (
            f"one lost page of {lost.n_pages} of a log of {lost.n_rows:,} events: the fullest page holds "
            f"{lost.worst} rows, {lost.tried} really lost took {lost.worst_tried} at most; {100 * lost.back:.4f} % back"
        ),
    )


def main(argv: Sequence[str]) -> int:
    """Run all and print a line each; 1 where something was missed or a control saw nothing."""
    parser = argparse.ArgumentParser(prog="python -m tests.torture.rot", description=__doc__)
    parser.add_argument("--flips", type=int, default=500)
    parser.add_argument("--events", type=int, default=100_000)
    parser.add_argument("--pages", type=int, default=10, help="pages of the long log that are really lost")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(argv)
    is_good = True
    with tempfile.TemporaryDirectory(prefix="boxside-rot-") as place, synchronous(0):
        for fine, line in _lines(asked, Path(place)):
            is_good = is_good and fine
            print("ok " if fine else "BAD", line, flush=True)
    return 0 if is_good else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
