"""The screen's light."""

from __future__ import annotations

from typing import Protocol


class Light(Protocol):
    """Keeps the screen awake during a round, and dark at dusk."""

    def keep_awake(self, on: bool) -> None:
        """Keep the screen on, or let the device decide again."""
        ...

    def dim(self, on: bool) -> None:
        """Take the app's own window to the darkest that can still be read, or give it back to the device.

        Only this app's window is meant, never the device's setting; where that cannot be done nothing happens.
        """
        ...
