"""The clock: the only place that knows what time it is."""

from __future__ import annotations

from typing import Protocol


class Clock(Protocol):
    """Tells the time and the zone that the device is set to."""

    def now_ms(self) -> int:
        """Return milliseconds since 1970 UTC."""
        ...

    def zone_name(self) -> str:
        """Return the IANA name of the device's zone; UTC where it does not say."""
        ...
