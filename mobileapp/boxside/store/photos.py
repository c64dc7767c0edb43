"""Photos beside the log, named by what they hold; a row is written only once the file is safe."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

from boxside.core.values.errors import StoreError
from boxside.core.values.moments import DAY_MS
from boxside.store.connection import Store

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


def sweep(store: Store, data_dir: Path, now_ms: int) -> int:
    """Remove what interrupted saves left behind; return how many files that were.

    A photo that no event names is an orphan once it is a day old: a younger one may belong to a save that
    another process has not finished.
    """
    left = [path for path in (data_dir / FOLDER).glob("*/*") if _is_old(path, now_ms)]
    gone = [path for path in left if path.name.startswith(".new-") or not _is_named(store, path.stem)]
    for path in gone:
        path.unlink(missing_ok=True)
    return len(gone)


def _is_old(path: Path, now_ms: int) -> bool:
    return path.stat().st_mtime * 1000 < now_ms - DAY_MS


def _is_named(store: Store, sha256: str) -> bool:
    sql = "SELECT 1 FROM event WHERE kind = 'photo' AND json_extract(fields, '$.sha256') = ? LIMIT 1"
    return store.row(sql, (sha256,)) is not None


def _sync_folder(folder: Path) -> None:
    # Windows cannot open a folder; there the rename itself is what is durable.
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
