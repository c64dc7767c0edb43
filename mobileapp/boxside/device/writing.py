"""One file for the keeper, at a path of their choice."""

from __future__ import annotations

from pathlib import Path

from boxside.core.values.errors import EntryError


def write_file(path: Path, data: bytes) -> None:
    """Write a file.

    Raises
    ------
    EntryError : where it cannot be written; says why
    """
    try:
        path.write_bytes(data)
    except OSError as error:
        reason = error.strerror or error
        raise EntryError(f"{path} cannot be written ({reason}). Choose another place.") from error
