"""Power cuts: photographs of the disk at random moments of a keeper's evening, each opened as after a restart."""

from __future__ import annotations

import itertools
import random
import tempfile
from dataclasses import dataclass
from pathlib import Path

from boxside.core.values.errors import BoxsideError
from boxside.core.values.vocabulary import Vocabulary
from boxside.store import open_store
from boxside.store.connection import FILE_NAME, SQLITE_ERRORS
from tests.torture.deeds import Keeper, held
from tests.torture.disk import Disk
from tests.torture.onto import checkpoints_after, open_on, synchronous

FULL, NORMAL, OFF = 2, 1, 0
N_EVENTS = 40
N_CUTS_A_RUN = 50
_number = itertools.count()
# What the log held after each save, by how many events those were: a merge brings several at once.
States = dict[int, tuple[list[str], str]]


@dataclass(slots=True)
class Cuts:
    """How often the power went, and what that did: `lost` saves that were acknowledged, `half` saves seen."""

    n: int = 0
    lost: int = 0
    half: int = 0

    def add(self, other: Cuts) -> None:
        """Add another run's cuts."""
        self.n, self.lost, self.half = self.n + other.n, self.lost + other.lost, self.half + other.half


@dataclass(frozen=True, slots=True)
class Photograph:
    """The disk as a cut left it, and how many events had been acknowledged by then."""

    folder: Path
    n_acknowledged: int


def cut_power(n: int, seed: int, level: int, vocabulary: Vocabulary) -> Cuts:
    """Return what became of acknowledged saves over `n` cuts, with PRAGMA synchronous at `level`."""
    found = Cuts()
    chance = random.Random(seed)
    while found.n < n:
        with tempfile.TemporaryDirectory() as folder, synchronous(level):
            found.add(_one_evening(Path(folder), chance, min(N_CUTS_A_RUN, n - found.n), vocabulary))
    return found


def _one_evening(folder: Path, chance: random.Random, n: int, vocabulary: Vocabulary) -> Cuts:
    """Run the same evening twice: to learn how many operations it has, then to cut it at some of them."""
    seed = chance.getrandbits(32)
    _, _, n_ops = _evening(folder / "first", seed, set(), vocabulary, chance)
    moments = set(chance.sample(range(1, n_ops + 1), n))
    photographs, states, _ = _evening(folder / "second", seed, moments, vocabulary, chance)
    found = Cuts(n=len(photographs))
    for photograph in photographs:
        outcome = _after(photograph, states, vocabulary)
        found.lost += outcome == "lost"
        found.half += outcome == "half"
    return found


def _evening(
    folder: Path, seed: int, moments: set[int], vocabulary: Vocabulary, chance: random.Random
) -> tuple[list[Photograph], States, int]:
    """Work through one evening; return its photographs, what the log held after each save, and its operations."""
    photographs: list[Photograph] = []
    states: States = {}
    acknowledged: list[int] = []

    def look(number: int, what: str) -> None:
        if number in moments:
            place = folder / f"cut-{number}"
            disk.photograph(place, chance)
            photographs.append(Photograph(place, acknowledged[-1] if acknowledged else 0))

    def note() -> None:
        ids, digest = held(store)
        states[len(ids)] = (ids, digest)
        acknowledged.append(len(ids))

    disk = Disk(f"cut-{next(_number)}", look)
    try:
        with checkpoints_after(40):
            store = open_on(disk, folder / "log", vocabulary)
            note()
            Keeper(random.Random(seed), merges=True).work(store, N_EVENTS, lambda _: note())
            store.close()
    finally:
        disk.unregister()
    return photographs, states, disk.n_ops


def _after(photograph: Photograph, states: States, vocabulary: Vocabulary) -> str:
    """Open the log after a cut: is all there that was acknowledged, and nothing by half?"""
    if not (photograph.folder / FILE_NAME).exists():
        return "lost" if photograph.n_acknowledged else "safe"
    try:
        # Nothing is to be lost any more, so the real disk is not waited for.
        with synchronous(OFF):
            store = open_store(photograph.folder, vocabulary)
    except BoxsideError:
        return "lost"
    try:
        ids, digest = held(store)
        broken = store.rows("PRAGMA integrity_check") != [("ok",)]
    except SQLITE_ERRORS:
        return "lost"
    finally:
        store.close()
    if len(ids) < photograph.n_acknowledged or broken:
        return "lost"
    return "safe" if states.get(len(ids)) == (ids, digest) else "half"
