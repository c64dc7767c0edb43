"""Spans of calendar days in the keeper's zone, as instants."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from boxside.actions.context import zone_of
from boxside.actions.services import Services
from boxside.core.values.moments import local_ms

_FIRST_MS, _LAST_MS = -(1 << 53), 1 << 53


@dataclass(frozen=True, slots=True)
class Span:
    """From an instant up to, not including, another, in milliseconds UTC; the days that it holds, if it has ends."""

    from_ms: int
    to_ms: int
    from_day: date | None = None
    to_day: date | None = None

    @property
    def ordinals(self) -> tuple[int, int]:
        """The first and last day as ordinals; those of the calendar where an end is open."""
        return (self.from_day or date.min).toordinal(), (self.to_day or date.max).toordinal()


def span_of(services: Services, from_day: date | None, to_day: date | None) -> Span:
    """Return a span of calendar days of the keeper's zone, both included, as instants; None leaves an end open."""
    zone = zone_of(services)
    after = to_day + timedelta(days=1) if to_day and to_day < date.max else None
    return Span(
        from_ms=local_ms(from_day, 0, zone) if from_day else _FIRST_MS,
        to_ms=local_ms(after, 0, zone) if after else _LAST_MS,
        from_day=from_day,
        to_day=to_day,
    )
