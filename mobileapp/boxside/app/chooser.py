"""The desktop's chooser of files: folders and files as large buttons, like every other question."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from boxside.core.values.views import Notice
from boxside.ui.words import say

PICTURE_ENDINGS = (".jpg", ".jpeg", ".png", ".webp")
TABLE_ENDINGS = (".csv", ".txt", ".tsv", ".dat", ".log")


def listing(
    folder: Path, endings: tuple[str, ...] = PICTURE_ENDINGS, icon: str = "photo"
) -> list[tuple[Path, str, str]]:
    """Return what can be chosen in a folder: the way up, files with those endings, the newest first, folders."""
    entries = [entry for entry in folder.iterdir() if not entry.name.startswith(".")]
    folders = sorted((e for e in entries if e.is_dir()), key=lambda e: e.name.lower())
    pictures = [e for e in entries if e.suffix.lower() in endings and e.is_file()]
    pictures.sort(key=lambda e: e.stat().st_mtime, reverse=True)
    up = [(folder.parent, say("folder_up"), "up")] if folder.parent != folder else []
    return [*up, *((e, e.name, icon) for e in pictures), *((e, e.name, "shelf") for e in folders)]


class PhotoChooser:
    """Asks for a picture file, folder by folder."""

    endings: tuple[str, ...] = PICTURE_ENDINGS
    icon = "photo"

    def __init__(self, shell: Any, start: Path) -> None:
        self.shell = shell
        self.start = start

    def __call__(self, then: Callable[[str], None]) -> None:
        """Ask; `then` gets the path, and nothing is called when it is left."""
        self._show(then, self.start)

    def title(self) -> str:
        """Return what is asked for."""
        return say("photo")

    def _show(self, then: Callable[[str], None], folder: Path) -> None:
        try:
            items = listing(folder, self.endings, self.icon)
        except OSError as error:
            self.shell.show(Notice(f"{folder} cannot be read: {error.strerror}.", do=say("folder_do"), bad=True))
            return
        self.shell.open_choices(self.title(), items, partial(self._chosen, then), str(folder))

    def _chosen(self, then: Callable[[str], None], path: Path) -> None:
        if path.is_dir():
            self._show(then, path)
            return
        self.start = path.parent
        then(str(path))


class TableChooser(PhotoChooser):
    """Asks for a table of a logger, folder by folder."""

    endings = TABLE_ENDINGS
    icon = "note"

    def title(self) -> str:
        """Return what is asked for."""
        return say("logger_file")


class FolderChooser(PhotoChooser):
    """Asks for a folder: the first choice is the one that one stands in."""

    def title(self) -> str:
        """Return what is asked for."""
        return say("save_as")

    def _show(self, then: Callable[[str], None], folder: Path) -> None:
        try:
            items = [one for one in listing(folder, ()) if one[0].is_dir()]
        except OSError as error:
            self.shell.show(Notice(f"{folder} cannot be read: {error.strerror}.", do=say("folder_do"), bad=True))
            return
        here = (None, say("save_here"), "save")
        self.shell.open_choices(self.title(), [here, *items], partial(self._gone, then, folder), str(folder))

    def _gone(self, then: Callable[[str], None], folder: Path, chosen: Path | None) -> None:
        if chosen is None:
            self.start = folder
            then(str(folder))
        else:
            self._show(then, chosen)


__all__ = ["FolderChooser", "PhotoChooser", "TableChooser", "listing"]
