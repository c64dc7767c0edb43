"""The desktop's chooser of photos: folders and pictures as large buttons, like every other question."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from boxside.core.values.views import Notice
from boxside.ui.words import say

PICTURE_ENDINGS = (".jpg", ".jpeg", ".png", ".webp")


def listing(folder: Path) -> list[tuple[Path, str, str]]:
    """Return what can be chosen in a folder: the way up, folders, then pictures, the newest first."""
    entries = [entry for entry in folder.iterdir() if not entry.name.startswith(".")]
    folders = sorted((e for e in entries if e.is_dir()), key=lambda e: e.name.lower())
    pictures = [e for e in entries if e.suffix.lower() in PICTURE_ENDINGS and e.is_file()]
    pictures.sort(key=lambda e: e.stat().st_mtime, reverse=True)
    up = [(folder.parent, say("folder_up"), "up")] if folder.parent != folder else []
    return [*up, *((e, e.name, "photo") for e in pictures), *((e, e.name, "shelf") for e in folders)]


class PhotoChooser:
    """Asks for a picture file, folder by folder."""

    def __init__(self, shell: Any, start: Path) -> None:
        self.shell = shell
        self.start = start

    def __call__(self, then: Callable[[str], None]) -> None:
        """Ask; `then` gets the path, and nothing is called when it is left."""
        self._show(then, self.start)

    def _show(self, then: Callable[[str], None], folder: Path) -> None:
        try:
            items = listing(folder)
        except OSError as error:
            self.shell.show(Notice(f"{folder} cannot be read: {error.strerror}.", do=say("folder_do"), bad=True))
            return
        self.shell.open_choices(say("photo"), items, partial(self._chosen, then), str(folder))

    def _chosen(self, then: Callable[[str], None], path: Path) -> None:
        if path.is_dir():
            self._show(then, path)
            return
        self.start = path.parent
        then(str(path))


__all__ = ["PhotoChooser", "listing"]
