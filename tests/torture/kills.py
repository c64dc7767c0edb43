"""Processes killed while they save: what was acknowledged over a pipe must be in the log, whole."""

from __future__ import annotations

import hashlib
import os
import random
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from boxside.store import Store, open_store, photos, saving
from boxside.store.rebuild import rebuild, state_digest
from tests.torture.deeds import vocabulary

_REBUILD_EVERY = 25
# Turns of an empty loop, some milliseconds at most: the kill then falls anywhere in a save.
_TURNS = 300_000
# By then everything that a killed writer left is old enough to be swept.
_LATER_MS = 1 << 60
_ROOT = Path(__file__).parents[2]


@dataclass(slots=True)
class Kills:
    """What became of a log whose writer was killed again and again."""

    n: int = 0
    acknowledged: int = 0
    lost: int = 0
    half: int = 0
    short_photos: int = 0
    swept: int = 0


def kill_often(folder: Path, n: int, seed: int) -> Kills:
    """Return what became of acknowledged saves over `n` kills of writers on one log."""
    chance = random.Random(seed)
    known = vocabulary()
    found = Kills()
    acknowledged: set[str] = set()
    env = {**os.environ, "PYTHONPATH": os.pathsep.join((str(_ROOT / "mobileapp"), str(_ROOT)))}
    forker = [sys.executable, "-m", "tests.torture.writer"]
    with subprocess.Popen(forker, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=env, cwd=_ROOT) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        for nth in range(n):
            process.stdin.write(f"{nth} {folder}\n".encode())
            process.stdin.flush()
            acknowledged |= _killed(process.stdout, chance.randint(0, 8), chance.randrange(_TURNS))
            store = open_store(folder, known)
            try:
                _look(store, folder, acknowledged, found, thorough=nth % _REBUILD_EVERY == 0 or nth == n - 1)
            finally:
                store.close()
        process.stdin.close()
    found.n, found.acknowledged = n, len(acknowledged)
    return found


def _killed(pipe: IO[bytes], n_acks: int, turns: int) -> set[str]:
    """Kill the writer some turns after it has acknowledged so many saves; return all that it acknowledged."""
    heard: set[str] = set()
    writer = 0
    while True:
        word, _, what = pipe.readline().decode().strip().partition(" ")
        if word == "ended":
            if what != str(-signal.SIGKILL):
                raise RuntimeError(f"the writer ended by itself with {what}")
            return heard
        if word == "saved":
            heard.add(what)
        elif word == "writer":
            writer = int(what)
        if writer and len(heard) >= n_acks:
            for _ in range(turns):
                pass
            os.kill(writer, signal.SIGKILL)
            n_acks = 1 << 30


def _look(store: Store, folder: Path, acknowledged: set[str], found: Kills, thorough: bool) -> None:
    """Count what is missing, half or short."""
    held = {row[0] for row in store.rows("SELECT id FROM event")}
    found.lost += len(acknowledged - held)
    found.swept += photos.sweep(store, folder, _LATER_MS)
    for (digest,) in store.rows("SELECT json_extract(fields, '$.sha256') FROM event WHERE kind = 'photo'"):
        path = photos.path_of(folder, digest)
        found.short_photos += not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != digest
    if thorough:
        digest = state_digest(store)
        with saving(store):
            rebuild(store)
        found.half += digest != state_digest(store)
