"""Photos beside the log, named by what they hold; a row is written only once the file is safe."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from pathlib import Path

from boxside.core.values.errors import StoreError
from boxside.core.values.moments import DAY_MS
from boxside.store.connection import Store
from boxside.store.safe_files import rename, sha256_of, sync_folder

FOLDER = "photos"
_INCOMING = ".incoming"


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
        sync_folder(path.parent)
    except OSError as error:
        raise StoreError(f"The photo was not saved: {error}. The log is as before. Free some space.") from error
    return digest


def named(store: Store) -> list[str]:
    """Return the digests of all photos that events name, taken-back ones among them, in order."""
    sql = (
        "SELECT DISTINCT json_extract(fields, '$.sha256') AS sha256 FROM event WHERE kind = 'photo' "
        "AND json_type(fields, '$.sha256') = 'text' ORDER BY sha256"
    )
    return [row[0] for row in store.rows(sql)]


def fault(data_dir: Path, sha256: str) -> str:
    """Return what is wrong with a kept photo: missing or changed; empty where it is what was written."""
    path = path_of(data_dir, sha256)
    try:
        return "" if sha256_of(path) == sha256 else "changed"
    except FileNotFoundError:
        return "missing"
    except OSError:
        return "unreadable"


def staging(data_dir: Path) -> Path:
    """Return an empty folder for photos on their way in; what an interrupted merge left there is gone."""
    folder = data_dir / _INCOMING
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return folder


def take_in(data_dir: Path, staged: Path) -> list[Path]:
    """Move staged photos, each named by its digest, to where they are kept; return where they now are."""
    taken: list[Path] = []
    try:
        for photo in sorted(staged.iterdir()):
            place = path_of(data_dir, photo.name)
            place.parent.mkdir(parents=True, exist_ok=True)
            rename(photo, place)
            taken.append(place)
        staged.rmdir()
    except OSError as error:
        give_back(taken)
        raise StoreError(f"The photos were not saved: {error}. The log is as before. Free some space.") from error
    return taken


def give_back(taken: list[Path]) -> None:
    """Remove photos that were taken in for entries that could not be saved."""
    for path in taken:
        path.unlink(missing_ok=True)


def sweep(store: Store, data_dir: Path, now_ms: int) -> int:
    """Remove what interrupted saves left behind; return how many files that were.

    A photo that no event names is an orphan once it is a day old: a younger one may belong to a save that
    another process has not finished.
    """
    left = [path for path in (data_dir / FOLDER).glob("*/*") if _is_old(path, now_ms)]
    gone = [path for path in left if path.name.startswith(".new-") or not _is_named(store, path.stem)]
    for path in gone:
        path.unlink(missing_ok=True)
    if (incoming := data_dir / _INCOMING).exists() and _is_old(incoming, now_ms):
        shutil.rmtree(incoming, ignore_errors=True)
    return len(gone)


def _is_old(path: Path, now_ms: int) -> bool:
    return path.stat().st_mtime * 1000 < now_ms - DAY_MS


def _is_named(store: Store, sha256: str) -> bool:
    sql = "SELECT 1 FROM event WHERE kind = 'photo' AND json_extract(fields, '$.sha256') = ? LIMIT 1"
    return store.row(sql, (sha256,)) is not None
