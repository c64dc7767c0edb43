"""Snapshots: whole copies of the log beside it, three of them, each named by when, why and its own sha256."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from boxside.core.values.errors import StoreError
from boxside.core.values.moments import from_ms, to_ms
from boxside.store.connection import SQLITE_ERRORS, Store
from boxside.store.rows import EVENT_COLUMNS
from boxside.store.safe_files import rename, sha256_of

FOLDER = "snapshots"
KEPT = 3
_NAME = re.compile(r"(\d{8}T\d{6})(\d{3})Z-([a-z]+)-(\d+)-([0-9a-f]{64})\.db")


@dataclass(frozen=True, slots=True)
class Snapshot:
    """One snapshot: when it was taken, why, how many events it holds, and what its bytes must hash to."""

    path: Path
    at_ms: int
    why: str
    n_events: int
    sha256: str

    def is_whole(self) -> bool:
        """Return whether it is what was written, to the last bit."""
        try:
            return sha256_of(self.path) == self.sha256
        except OSError:
            return False


def take(store: Store, why: str, now_ms: int) -> Snapshot:
    """Write a snapshot of the log as it now is and let the oldest go; outside any transaction.

    Raises
    ------
    StoreError : if the disk refuses; no snapshot was taken and nothing else was changed
    """
    folder = store.path.parent / FOLDER
    made = folder / ".new-snapshot"
    try:
        folder.mkdir(exist_ok=True)
        made.unlink(missing_ok=True)
        store.run("VACUUM INTO ?", (str(made),))
        n_events = (store.row("SELECT count(*) FROM event") or (0,))[0]
        name = f"{_stamp(now_ms)}-{why}-{n_events}-{sha256_of(made)}.db"
        rename(made, folder / name)
        prune(folder)
    except (OSError, *SQLITE_ERRORS) as error:
        made.unlink(missing_ok=True)
        raise StoreError(
            f"No copy of the log could be set aside: {error}. Nothing was changed. Free some space, then try again."
        ) from error
    return next(one for one in snapshots(store.path.parent) if one.path.name == name)


def snapshots(data_dir: Path) -> list[Snapshot]:
    """Return the snapshots beside a log, newest first."""
    found = [one for path in (data_dir / FOLDER).glob("*.db") if (one := _of(path)) is not None]
    return sorted(found, key=lambda one: (one.at_ms, one.path.name), reverse=True)


def newest_whole(data_dir: Path) -> Snapshot | None:
    """Return the newest snapshot that is what was written, or None."""
    return next((one for one in snapshots(data_dir) if one.is_whole()), None)


def prune(folder: Path) -> None:
    """Let all but the newest go."""
    for old in snapshots(folder.parent)[KEPT:]:
        old.path.unlink(missing_ok=True)


def forget_since(data_dir: Path, at_ms: int) -> None:
    """Let go of the snapshots taken after an instant: they hold what was taken back."""
    for one in snapshots(data_dir):
        if one.at_ms > at_ms:
            one.path.unlink(missing_ok=True)


def event_rows(path: Path) -> Iterator[tuple[Any, ...]]:
    """Yield the rows of a snapshot's log, each with its number before and its digest behind; texts come as bytes."""
    connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
    connection.text_factory = bytes
    try:
        yield from connection.execute(f"SELECT row, {EVENT_COLUMNS}, digest FROM event ORDER BY row")
    finally:
        connection.close()


def _of(path: Path) -> Snapshot | None:
    found = _NAME.fullmatch(path.name)
    if found is None:
        return None
    from datetime import UTC, datetime

    try:
        at = datetime.strptime(found[1], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
    except ValueError:
        return None
    return Snapshot(path, to_ms(at) + int(found[2]), found[3], int(found[4]), found[5])


def _stamp(ms: int) -> str:
    return f"{from_ms(ms):%Y%m%dT%H%M%S}{ms % 1000:03d}Z"


def stamp_text(ms: int) -> str:
    """Return an instant as it stands in the names of files."""
    return _stamp(ms)
