"""Chance: where the random parts of ids come from, so that a run can be repeated."""

from __future__ import annotations

from typing import Protocol


class Chance(Protocol):
    """Gives random bits."""

    def bits(self, n: int) -> int:
        """Return `n` random bits as a number."""
        ...
