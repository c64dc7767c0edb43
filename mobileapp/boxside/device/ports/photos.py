"""Photos: taken or chosen, handed over as a file, and made safe to keep."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo as it is kept: its bytes, turned upright, without place or other notes of the camera."""

    data: bytes
    width_px: int
    height_px: int


class Photos(Protocol):
    """Chooses and reads photos."""

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask the person for a photo; `then` is called with its path, not at all when they cancel."""
        ...

    def read(self, path: Path) -> Picture:
        """Read a photo to the last byte, turn it upright, strip what the camera noted.

        Raises
        ------
        DeviceError : for a file that is missing, no photo, truncated or too large; nothing is kept
        """
        ...
