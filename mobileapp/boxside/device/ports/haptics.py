"""Haptics: a short touch of the phone, after a save only."""

from __future__ import annotations

from typing import Protocol


class Haptics(Protocol):
    """Confirms and rejects by touch; a device without such a part does nothing."""

    def confirm(self) -> None:
        """Tell the hand that it is saved."""
        ...

    def reject(self) -> None:
        """Tell the hand that it is not saved."""
        ...
