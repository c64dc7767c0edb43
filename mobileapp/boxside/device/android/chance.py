"""Random bits from the phone's system."""

from __future__ import annotations

import secrets


class AndroidChance:
    """The system's own random numbers."""

    def bits(self, n: int) -> int:
        """Return `n` random bits."""
        return secrets.randbits(n)
