"""Parts that a desktop does not have: they do nothing, and nothing waits for them."""

from __future__ import annotations


class NoHaptics:
    """A desktop does not move in the hand."""

    def confirm(self) -> None:
        """Do nothing."""

    def reject(self) -> None:
        """Do nothing."""


class NoLight:
    """A desktop's screen is left to the desktop."""

    def keep_awake(self, on: bool) -> None:
        """Do nothing."""

    def dim(self, on: bool) -> None:
        """Do nothing."""
