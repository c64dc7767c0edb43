"""Photos beside the log, named by what they hold; a row is written only once the file is safe."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

from boxside.core.values.errors import StoreError

FOLDER = "photos"


def path_of(data_dir: Path, sha256: str) -> Path:
    """Return where the photo of that digest is kept."""
    return data_dir / FOLDER / sha256[:2] / f"{sha256}.jpg"


def keep(data_dir: Path, data: bytes) -> str:
    """Write a photo so that it outlives a power cut and return its sha256: temp, sync, rename, sync folder.

    Raises
    ------
    StoreError : if the disk refuses; nothing is left behind
    """
    digest = hashlib.sha256(data).hexdigest()
    path = path_of(data_dir, digest)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists() and hashlib.sha256(path.read_bytes()).hexdigest() == digest:
            return digest
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        _sync_folder(path.parent)
    except OSError as error:
        raise StoreError(f"The photo was not saved: {error}. The log is as before. Free some space.") from error
    return digest


def sweep(data_dir: Path) -> int:
    """Remove what an interrupted save left behind; return how many files that were."""
    left = list((data_dir / FOLDER).glob("*/.new-*"))
    for path in left:
        path.unlink(missing_ok=True)
    return len(left)


def _sync_folder(folder: Path) -> None:
    # Windows cannot open a folder; there the rename itself is what is durable.
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
