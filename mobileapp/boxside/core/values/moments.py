"""Moments and days: instants are whole milliseconds UTC, days are the keeper's.

An event keeps the offset that was in force where it was logged, because zone tables change
afterwards; due days are calendar days in the keeper's zone, so no daylight-saving change moves them.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import lru_cache

DAY_MS = 86_400_000
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def to_ms(moment: datetime) -> int:
    """Return milliseconds since 1970 UTC of an aware datetime.

    Raises
    ------
    ValueError : if `moment` has no offset

    Examples
    --------
    >>> to_ms(datetime(1970, 1, 2, tzinfo=UTC))
    86400000
    """
    if moment.tzinfo is None:
        raise ValueError("a moment needs an offset")
    return (moment - _EPOCH) // timedelta(milliseconds=1)


def from_ms(ms: int, zone: tzinfo = UTC) -> datetime:
    """Return the aware datetime of `ms` milliseconds since 1970 UTC, shown in `zone`."""
    return (_EPOCH + timedelta(milliseconds=ms)).astimezone(zone)


def day_of(ms: int, zone: tzinfo) -> date:
    """Return the calendar day of an instant in the keeper's zone."""
    return from_ms(ms, zone).date()


def offset_min_of(ms: int, zone: tzinfo) -> int:
    """Return the offset from UTC in minutes that `zone` had at an instant."""
    offset = from_ms(ms, zone).utcoffset()
    return round(offset.total_seconds() / 60) if offset is not None else 0


def iso_text(ms: int, offset_min: int) -> str:
    """Return the instant as ISO 8601 with its stored offset, to the second.

    Examples
    --------
    >>> iso_text(86_400_000, 120)
    '1970-01-02T02:00:00+02:00'
    """
    minutes, rest_ms = divmod(ms, 60_000)
    return f"{_minute_text(minutes + offset_min)}:{rest_ms // 1000:02d}{_offset_text(offset_min)}"


def iso_ms_text(ms: int, offset_min: int) -> str:
    """Return the instant as ISO 8601 with its stored offset, exact to the millisecond.

    Examples
    --------
    >>> iso_ms_text(86_400_007, -90)
    '1970-01-01T22:30:00.007-01:30'
    """
    minutes, rest_ms = divmod(ms, 60_000)
    seconds, rest_ms = divmod(rest_ms, 1000)
    return f"{_minute_text(minutes + offset_min)}:{seconds:02d}.{rest_ms:03d}{_offset_text(offset_min)}"


@lru_cache(maxsize=1 << 12)
def _minute_text(minutes: int) -> str:
    """Return date, hour and minute of a wall clock that counts minutes since 1970; a log's entries share many."""
    return (datetime(1970, 1, 1) + timedelta(minutes=minutes)).isoformat(timespec="minutes")  # noqa: DTZ001 (a wall)


@lru_cache(maxsize=1 << 8)
def _offset_text(offset_min: int) -> str:
    hours, minutes = divmod(abs(offset_min), 60)
    return f"{'-' if offset_min < 0 else '+'}{hours:02d}:{minutes:02d}"


def local_ms(day: date, minute: int, zone: tzinfo) -> int:
    """Return the instant of a wall-clock minute of a day in `zone`.

    A wall time that a clock change skips is moved on by the gap; of two equal ones the first counts.
    """
    wall = datetime(day.year, day.month, day.day, minute // 60, minute % 60, tzinfo=zone)
    return to_ms(wall)
