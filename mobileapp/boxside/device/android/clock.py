"""The phone's clock and zone."""

from __future__ import annotations

import time
import zoneinfo

from boxside.device.android.jni import java


class AndroidClock:
    """Reads the phone's clock; the zone comes from Java, since Python on a phone knows none."""

    def now_ms(self) -> int:
        """Return milliseconds since 1970 UTC."""
        return time.time_ns() // 1_000_000

    def zone_name(self) -> str:
        """Return the IANA name of the phone's zone; UTC where it names none that is known."""
        name = str(java("java.util.TimeZone").getDefault().getID())
        try:
            return zoneinfo.ZoneInfo(name).key
        except (ValueError, OSError, zoneinfo.ZoneInfoNotFoundError):
            return "UTC"
