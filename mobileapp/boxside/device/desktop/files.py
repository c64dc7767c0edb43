"""Files on a desktop: the app shows its own choosers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from boxside.core.values.errors import DeviceError
from boxside.device.written import copy_file

Chooser = Callable[[Callable[[str], None]], None]


class DesktopFiles:
    """Asks through choosers that the app installs, since plyer's need programs that may be missing.

    `chooser` asks for a file, `folder_chooser` for a folder.
    """

    has_share = False

    def __init__(self) -> None:
        self.chooser: Chooser | None = None
        self.folder_chooser: Chooser | None = None

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask the person for a file."""
        if self.chooser is None:
            raise DeviceError("No file can be chosen here. Nothing was changed. Use `boxside temperatures FILE`.")
        self.chooser(then)

    def share(self, paths: Sequence[str], kind: str) -> None:
        """Say that a desktop has no share sheet."""
        raise DeviceError("A desktop has no share sheet. Nothing was changed. Save the file instead.")

    def save_as(self, path: str, name: str, then: Callable[[str], None]) -> None:
        """Ask for a folder, and put a copy there beside what it holds."""
        if self.folder_chooser is None:
            raise DeviceError(f"No folder can be chosen here. Nothing was changed. The file is {path}.")

        def chosen(folder: str) -> None:
            target = _free(Path(folder) / name)
            copy_file(Path(path), target)
            then(str(target))

        self.folder_chooser(chosen)


def _free(path: Path) -> Path:
    """Return a path that nothing lies at, so that nobody's file is overwritten."""
    n, found = 1, path
    while found.exists():
        n += 1
        found = path.with_stem(f"{path.stem} {n}")
    return found
