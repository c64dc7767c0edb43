"""Photos on a desktop: the app shows its own chooser of files; this part reads what was chosen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from boxside.core.values.errors import DeviceError
from boxside.device.ports.photos import Picture


class DesktopPhotos:
    """Asks through a chooser that the app installs, since plyer's needs programs that may be missing."""

    has_camera = False

    def __init__(self) -> None:
        self.chooser: Callable[[Callable[[str], None]], None] | None = None

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask the person for a file."""
        if self.chooser is None:
            raise DeviceError("No photo can be chosen here. Nothing was changed. Use `boxside log BOX photo`.")
        self.chooser(then)

    def take(self, then: Callable[[str], None]) -> None:
        """Say that a desktop takes no photos."""
        raise DeviceError("No photo can be taken here. Nothing was changed. Choose one instead.")

    def read(self, path: Path) -> Picture:
        """Read a photo to the last byte, upright, without what the camera noted."""
        # Pillow is slow to load, and most runs read no photo.
        from boxside.device.pictures import read_picture

        return read_picture(path)
