"""A folder that an export is written into: table by table, streamed, safe on the disk before it is named."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from boxside.core.values.errors import EntryError, StoreError

DESCRIPTOR = "datapackage.json"


def prepare(folder: Path, names: Iterable[str]) -> None:
    """Make the folder; refuse one that holds files of these names which Boxside did not write.

    Raises
    ------
    EntryError : so that nobody's file is overwritten; nothing was written
    StoreError : if the folder cannot be made
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"{folder} cannot be made: {error}. Nothing was written.") from error
    taken = [name for name in (*names, DESCRIPTOR) if (folder / name).exists()]
    if taken and not _is_ours(folder / DESCRIPTOR):
        raise EntryError(f"{folder} holds other files ({', '.join(taken[:3])}). Nothing was written. Choose another.")


def _is_ours(path: Path) -> bool:
    try:
        return "boxside" in json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, TypeError):
        return False


def write_lines(path: Path, lines: Iterable[str]) -> tuple[int, str]:
    """Write text line by line; return the bytes written and their sha256.

    Raises
    ------
    StoreError : if the disk refuses; a file of that name that was there before stays
    """
    digest, n_bytes = hashlib.sha256(), 0
    temporary = path.with_name(f".new-{path.name}")
    try:
        with temporary.open("wb") as file:
            for line in lines:
                data = line.encode("utf-8")
                digest.update(data)
                n_bytes += file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StoreError(f"{path} was not written: {error}. The log is as before. Free some space.") from error
    return n_bytes, digest.hexdigest()


def write_descriptor(folder: Path, package: Mapping[str, Any], readme: str) -> None:
    """Write the descriptor last, so that a package with one is whole."""
    write_lines(folder / "README.txt", [readme])
    write_lines(folder / DESCRIPTOR, [json.dumps(package, indent=2, ensure_ascii=False) + "\n"])
