"""Files on their way out of the app: packed where they are a folder, then to the share sheet or a place of choice."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from boxside.actions.services import Services
from boxside.device.ports import kind_of
from boxside.device.zipped import zip_folder


def packed(services: Services, paths: Sequence[str | Path]) -> tuple[str, ...]:
    """Return the files to hand out: each folder as one zip file beside it, what is a file as it is.

    Raises
    ------
    StoreError : if the disk refuses
    """
    found = [Path(path) for path in paths]
    return tuple(str(zip_folder(path) if path.is_dir() else path) for path in found)


def share_files(services: Services, paths: Sequence[str | Path]) -> None:
    """Open the share sheet with files, or with folders as zip files.

    Raises
    ------
    DeviceError : where there is no share sheet
    StoreError : if the disk refuses
    """
    files = packed(services, paths)
    services.device.files.share(files, kind_of(files))
