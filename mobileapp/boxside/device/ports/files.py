"""Files of other programs: chosen by the person and handed over as a path."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol


class Files(Protocol):
    """Chooses files."""

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask the person for a file; `then` is called with its path, not at all when they cancel.

        Raises
        ------
        DeviceError : where there is no way to choose one; nothing is changed
        """
        ...
