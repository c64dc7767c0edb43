"""One log put in the place of another, so that at every moment one whole log is there to be opened."""

from __future__ import annotations

from pathlib import Path

from boxside.store.safe_files import copy, sync_folder

ASIDE = "aside"
_NEXT = ".next"
_BESIDE = ("-wal", "-shm")


def next_of(log: Path) -> Path:
    """Return where the whole log waits that is to take the place of `log`."""
    return log.with_name(log.name + _NEXT)


def finish(log: Path) -> bool:
    """Let a whole log that waits take its place; True where there was one.

    Whatever moment the power goes, doing it again leads to the same end. The write-ahead file goes first:
    it belongs to the old log and would be read into the new one.
    """
    waiting = next_of(log)
    if not waiting.exists():
        return False
    for ending in _BESIDE:
        log.with_name(log.name + ending).unlink(missing_ok=True)
    sync_folder(log.parent)
    waiting.replace(log)
    sync_folder(log.parent)
    return True


def set_aside(log: Path, stamp: str) -> Path:
    """Copy a log, with its write-ahead file, to where it is kept for those who look closer; return the copy."""
    place = log.parent / ASIDE / f"{stamp}-{log.name}"
    for ending in ("", "-wal"):
        source = log.with_name(log.name + ending)
        if source.exists():
            copy(source, place.with_name(place.name + ending))
    return place
