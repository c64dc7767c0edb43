"""Random bits from the system."""

from __future__ import annotations

import secrets


class SystemChance:
    """The system's own random numbers."""

    def bits(self, n: int) -> int:
        """Return `n` random bits."""
        return secrets.randbits(n)
