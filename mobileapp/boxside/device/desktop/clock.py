"""The computer's clock and zone."""

from __future__ import annotations

import time
import zoneinfo


class SystemClock:
    """Reads the system's clock; the zone comes from tzlocal."""

    def now_ms(self) -> int:
        """Return milliseconds since 1970 UTC."""
        return time.time_ns() // 1_000_000

    def zone_name(self) -> str:
        """Return the IANA name of the system's zone; UTC where it names none."""
        import tzlocal

        name = tzlocal.get_localzone_name()
        try:
            zoneinfo.ZoneInfo(name)
        except (ValueError, zoneinfo.ZoneInfoNotFoundError):
            return "UTC"
        return name
