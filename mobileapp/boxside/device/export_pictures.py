"""Pictures beside an export: written as a whole or not at all, in a folder of their own."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from pathlib import Path

from boxside.core.values.errors import StoreError


def write_picture(path: Path, data: bytes) -> str:
    """Write a picture, making its folder; return its sha256.

    Raises
    ------
    StoreError : if the disk refuses; a picture of that name that was there before stays
    """
    temporary = path.with_name(f".new-{path.name}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with temporary.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StoreError(f"{path} was not written: {error}. The log is as before. Free some space.") from error
    return hashlib.sha256(data).hexdigest()


def remove_earlier(paths: Iterable[Path]) -> None:
    """Remove pictures of an earlier export that this one does not draw again.

    Raises
    ------
    StoreError : if the disk refuses
    """
    for path in paths:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise StoreError(
                f"{path} of an earlier export cannot be removed: {error}. The log is as before."
            ) from error
