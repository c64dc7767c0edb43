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
        """Return the IANA name of the system's zone; UTC where it names none, or several that differ."""
        import tzlocal

        try:
            name: str | None = tzlocal.get_localzone_name()
            return zoneinfo.ZoneInfo(name).key if name else "UTC"
        except (ValueError, OSError, zoneinfo.ZoneInfoNotFoundError):
            return "UTC"
