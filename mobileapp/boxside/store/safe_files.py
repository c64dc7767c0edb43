"""Files that outlive a power cut: written beside their place, synced, then renamed into it."""

from __future__ import annotations

import hashlib
import os
import shutil
from pathlib import Path

_CHUNK = 1 << 20


def sync_file(path: Path) -> None:
    """Wait until a file's content is on the disk."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the disk."""
    # Windows cannot open a folder; there the rename itself is what is durable.
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def rename(made: Path, place: Path) -> None:
    """Put a whole file in its place, durably."""
    sync_file(made)
    made.replace(place)
    sync_folder(place.parent)


def copy(source: Path, place: Path) -> None:
    """Copy a file, durably; what was there before is replaced only once the copy is whole."""
    place.parent.mkdir(parents=True, exist_ok=True)
    made = place.with_name(f".new-{place.name}")
    shutil.copyfile(source, made)
    rename(made, place)


def sha256_of(path: Path) -> str:
    """Return the sha256 of a file in hexadecimal, read piece by piece."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_CHUNK):
            digest.update(piece)
    return digest.hexdigest()
