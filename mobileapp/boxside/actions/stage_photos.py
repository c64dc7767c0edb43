"""The photos of an archive unpacked beside the log, each proved, before any of them counts."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from pathlib import Path

from boxside.actions.services import Services
from boxside.core.archive import Member, photo_sha256
from boxside.core.values.errors import StoreError
from boxside.device.archive_reading import OpenArchive
from boxside.store import photos


@contextlib.contextmanager
def staged_photos(services: Services, archive: OpenArchive) -> Iterator[Path]:
    """Yield a folder with the photos that are not here yet; what is left of it afterwards is removed.

    Everything else in the archive but the events is proved here as well: an archive is refused for anything
    in it that is not what was written.

    Raises
    ------
    DataError : for a photo that is none, is cut short or too large, or is not what was written
    StoreError : if the disk refuses
    """
    try:
        staged = photos.staging(services.device.data_dir)
    except OSError as error:
        raise StoreError(f"Nothing can be written here: {error}. Nothing was changed.") from error
    try:
        for member in archive.others():
            for _ in archive.pieces(member):
                pass
        for member in archive.photos():
            _unpack(services, archive, member, staged)
        yield staged
    finally:
        shutil.rmtree(staged, ignore_errors=True)


def _unpack(services: Services, archive: OpenArchive, member: Member, staged: Path) -> None:
    """Prove a photo, and keep it where it is not here yet."""
    # Pillow is slow to load, and most archives of a small keeper hold no photo.
    from boxside.device.pictures import photo_fault

    sha256 = photo_sha256(member.path)
    if not photos.fault(services.device.data_dir, sha256):
        for _ in archive.pieces(member):
            pass
        return
    place = staged / sha256
    try:
        with place.open("wb") as file:
            for piece in archive.pieces(member):
                file.write(piece)
    except OSError as error:
        raise StoreError(f"The photos were not unpacked: {error}. Nothing was changed. Free some space.") from error
    if reason := photo_fault(place):
        raise archive.wrong(member.path, reason)
