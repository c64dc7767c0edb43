"""An archive at a tap: into the chosen folder, else into the app's own, from where it can be shared."""

from __future__ import annotations

from pathlib import Path

from boxside.actions.keep_archives import choose_archive_folder, chosen_folder, free_name
from boxside.actions.make_archive import make_archive
from boxside.actions.services import Services
from boxside.actions.watching import Watch
from boxside.core.values.errors import StoreError
from boxside.core.values.keeping import ArchiveView, KeepingView

OWN, HANDED = "archives", "exports"


def archive_now(services: Services, watch: Watch | None = None) -> ArchiveView:
    """Write an archive of today into the chosen folder; where there is none, or it is gone, among the exports.

    Raises
    ------
    StoreError : if the disk refuses, or an entry is not what was written
    StoppedError : if whoever watches wants that; nothing was written
    """
    folder = chosen_folder(services)
    if folder is None or not folder.is_dir():
        folder = _made(services, HANDED)
    return make_archive(services, free_name(services, folder), watch)


def use_own_folder(services: Services) -> KeepingView:
    """Have archives made into a folder beside the log from now on, where no other folder can be chosen.

    Raises
    ------
    StoreError : if the folder cannot be made
    """
    return choose_archive_folder(services, _made(services, OWN))


def use_folder(services: Services, folder: str) -> KeepingView:
    """Have archives made into a folder from now on; an empty name for none.

    Raises
    ------
    EntryError : if it is no folder that can be written; nothing was changed
    """
    return choose_archive_folder(services, Path(folder) if folder else None)


def _made(services: Services, name: str) -> Path:
    folder = Path(services.device.data_dir) / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"{folder} cannot be made: {error}. Nothing was written. Free some space.") from error
    return folder
