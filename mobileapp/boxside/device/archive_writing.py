"""An archive written as one zip: the same bytes for the same content, safe on the disk before it has its name."""

from __future__ import annotations

import hashlib
import os
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

from boxside.core.archive import Member
from boxside.core.values.errors import EntryError, StoreError

# No file of an archive tells when it was written: the same log gives the same archive.
_WHEN = (1980, 1, 1, 0, 0, 0)
_MODE = 0o100644 << 16
_UNIX = 3
_CHUNK = 1 << 20


class ArchiveWriter:
    """Writes one archive file by file and keeps account of lengths and digests."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive
        self.members: list[Member] = []

    def add(self, path: str, pieces: Iterable[bytes], packed: bool = True) -> Member:
        """Add a file from its pieces; `packed` false for what is compressed already."""
        info = zipfile.ZipInfo(path, _WHEN)
        info.create_system, info.external_attr = _UNIX, _MODE
        info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        digest, n_bytes = hashlib.sha256(), 0
        with self.archive.open(info, "w", force_zip64=True) as file:
            for piece in pieces:
                digest.update(piece)
                n_bytes += len(piece)
                file.write(piece)
        member = Member(path, n_bytes, digest.hexdigest())
        self.members.append(member)
        return member

    def add_lines(self, path: str, lines: Iterable[str]) -> Member:
        """Add a file of lines, each with its end, some thousand at a time."""
        return self.add(path, _gathered(lines))


def _gathered(lines: Iterable[str]) -> Iterable[bytes]:
    kept: list[str] = []
    for line in lines:
        kept.append(line)
        if len(kept) >= 2000:
            yield ("\n".join(kept) + "\n").encode("utf-8")
            kept.clear()
    if kept:
        yield ("\n".join(kept) + "\n").encode("utf-8")


def write_archive(path: Path, fill: Callable[[ArchiveWriter], None], check: Callable[[Path], None]) -> None:
    """Write an archive beside its place, have it checked by reading it back, then let it take its place.

    Raises
    ------
    EntryError : if the place is a folder, or in none; nothing was written
    StoreError : if the disk refuses; what was there before is still there
    """
    if path.is_dir() or not path.parent.is_dir():
        wrong = f"{path} is a folder" if path.is_dir() else f"{path.parent} is no folder"
        raise EntryError(f"{wrong}. Nothing was written. Name a file in a folder that is there.")
    made = path.with_name(f".new-{path.name}")
    try:
        with made.open("wb") as file:
            with zipfile.ZipFile(file, "w", allowZip64=True) as archive:
                fill(ArchiveWriter(archive))
            file.flush()
            os.fsync(file.fileno())
        check(made)
        made.replace(path)
        _sync_folder(path.parent)
    except OSError as error:
        raise StoreError(f"{path} was not written: {error}. The log is as before. Free some space.") from error
    finally:
        made.unlink(missing_ok=True)


def pieces_of(path: Path) -> Iterable[bytes]:
    """Yield a file piece by piece."""
    with path.open("rb") as file:
        while piece := file.read(_CHUNK):
            yield piece


def _sync_folder(folder: Path) -> None:
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
