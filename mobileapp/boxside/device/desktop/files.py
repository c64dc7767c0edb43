"""Files on a desktop: the app shows its own chooser."""

from __future__ import annotations

from collections.abc import Callable

from boxside.core.values.errors import DeviceError


class DesktopFiles:
    """Asks through a chooser that the app installs, since plyer's needs programs that may be missing."""

    def __init__(self) -> None:
        self.chooser: Callable[[Callable[[str], None]], None] | None = None

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask the person for a file."""
        if self.chooser is None:
            raise DeviceError("No file can be chosen here. Nothing was changed. Use `boxside temperatures FILE`.")
        self.chooser(then)
