"""Wall-clock times of nudges: local minutes of a day, the instants they stand for, and when they lapse."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta, tzinfo

from boxside.core.values.moments import from_ms, local_ms
from boxside.core.values.nudge import DAY_MINUTES, NudgePrefs

GRACE_MINUTES = 12 * 60


@dataclass(frozen=True, slots=True)
class WallTime:
    """A moment and the local day and minute that it shows on the wall."""

    ms: int
    day: date
    minute: int


def wall_time(ms: int, zone: tzinfo) -> WallTime:
    """Return what the wall clock of a zone shows at a moment."""
    local = from_ms(ms, zone)
    return WallTime(ms, local.date(), local.hour * 60 + local.minute)


def slot_time(day: date, minute: int, prefs: NudgePrefs, zone: tzinfo) -> WallTime | None:
    """Return when a minute of a local day comes, outside the quiet hours; None where the day has none.

    A time that a clock change skips moves on by the gap, of two equal ones the first counts, and what falls
    into the quiet hours waits for their end. None if that end, or the day itself, is not on this day: zones
    have left out whole days.
    """
    at = wall_time(local_ms(day, minute, zone), zone)
    if at.day == day and prefs.is_quiet(at.minute):
        at = wall_time(local_ms(day, prefs.quiet_to, zone), zone) if prefs.quiet_to > at.minute else at
    return at if at.day == day and not prefs.is_quiet(at.minute) else None


def asked_time(asked_ms: int, minutes: int, day: date, prefs: NudgePrefs, zone: tzinfo) -> WallTime | None:
    """Return when a digest of a day comes again after the keeper's `Later`; None if no more on that day."""
    at = wall_time((asked_ms // 60_000 + minutes) * 60_000, zone)
    if at.day != day:
        return None
    return at if not prefs.is_quiet(at.minute) else slot_time(day, at.minute, prefs, zone)


def local_text(day: date, minute: int) -> str:
    """Return a local time as the phone reads it; minute 1440 is midnight at the day's end.

    Examples
    --------
    >>> local_text(date(2026, 5, 3), 1080), local_text(date(2026, 5, 3), 1440)
    ('2026-05-03T18:00', '2026-05-04T00:00')
    """
    on = day + timedelta(days=minute // DAY_MINUTES)
    minute %= DAY_MINUTES
    return f"{on.isoformat()}T{minute // 60:02d}:{minute % 60:02d}"


def lapse_minute(at: WallTime, following: int | None, prefs: NudgePrefs) -> int:
    """Return the minute of the day from which a late phone no longer posts.

    The soonest of midnight, the grace time, the next slot of the day, and the start of the quiet hours.
    """
    ends = [DAY_MINUTES, at.minute + GRACE_MINUTES]
    if following is not None:
        ends.append(following)
    if prefs.quiet_from != prefs.quiet_to and prefs.quiet_from > at.minute:
        ends.append(prefs.quiet_from)
    return min(ends)
