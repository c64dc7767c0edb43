"""A zip of text files, written stream by stream; the same texts give the same bytes."""

from __future__ import annotations

import hashlib
import os
import zipfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from boxside.core.values.errors import StoreError

_OLDEST = (1980, 1, 1, 0, 0, 0)


def write_zip(path: Path, files: Mapping[str, Iterable[str]]) -> tuple[int, str]:
    """Write a zip of texts; return its bytes and their sha256. One of that name is replaced only by a whole one.

    Raises
    ------
    StoreError : if the disk refuses
    """
    temporary = path.with_name(f".new-{path.name}")
    try:
        with temporary.open("wb") as file:
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
                for name, texts in files.items():
                    _write(archive, name, texts)
            file.flush()
            os.fsync(file.fileno())
        digest = hashlib.sha256(temporary.read_bytes()).hexdigest()
        n_bytes = temporary.stat().st_size
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StoreError(f"{path} was not written: {error}. The log is as before. Free some space.") from error
    return n_bytes, digest


def _write(archive: zipfile.ZipFile, name: str, texts: Iterable[str]) -> None:
    about = zipfile.ZipInfo(name, _OLDEST)
    about.compress_type = zipfile.ZIP_DEFLATED
    about.external_attr = 0o644 << 16
    with archive.open(about, "w", force_zip64=True) as entry:
        for text in texts:
            entry.write(text.encode("utf-8"))
