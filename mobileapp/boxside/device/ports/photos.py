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
    """Takes, chooses and reads photos; `has_camera` says whether one can be taken here."""

    has_camera: bool

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask the person for a photo; `then` is called with its path, not at all when they cancel."""
        ...

    def take(self, then: Callable[[str], None]) -> None:
        """Have the person take a photo; `then` is called with its path, not at all when they cancel.

        Raises
        ------
        DeviceError : where there is no camera, or no app for it; choosing one still works
        """
        ...

    def read(self, path: Path) -> Picture:
        """Read a photo to the last byte, turn it upright, strip what the camera noted.

        Raises
        ------
        DeviceError : for a file that is missing, no photo, truncated or too large; nothing is kept
        """
        ...
