"""The screen's light."""

from __future__ import annotations

from typing import Protocol


class Light(Protocol):
    """Keeps the screen awake during a round."""

    def keep_awake(self, on: bool) -> None:
        """Keep the screen on, or let the device decide again."""
        ...
