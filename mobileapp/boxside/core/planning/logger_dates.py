"""Dates and times as temperature loggers write them, read by a stated order and never by a guess."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from enum import StrEnum


class DateOrder(StrEnum):
    """In which order a logger writes day, month and year."""

    YEAR_FIRST = "ymd"
    DAY_FIRST = "dmy"
    MONTH_FIRST = "mdy"


@dataclass(frozen=True, slots=True)
class Stamp:
    """A date and time of day as written; `offset_min` from UTC where it was written too, else None."""

    at: datetime
    offset_min: int | None


_DATE = r"(?P<a>\d{1,4})[-/. ](?P<b>\d{1,2})[-/. ](?P<c>\d{1,4})\.?"
_TIME = r"(?P<h>\d{1,2})[:.h](?P<m>\d{2})(?:[:.](?P<s>\d{2})(?:[.,]\d+)?)?\s*(?P<half>[AaPp]\.?[Mm]\.?)?"
_OFFSET = r"(?P<zone>Z|[+-]\d{2}:?\d{2})?"
_STAMP = re.compile(rf"\s*{_DATE}(?:[T,\s]\s*{_TIME}\s*{_OFFSET})?\s*")


def read_stamp(text: str, order: DateOrder) -> Stamp | None:
    """Return the date and time that a text means in an order, or None where it means none.

    Two-digit years are 2000 to 2099. A date alone means its midnight.

    Examples
    --------
    >>> read_stamp("3/4/26 1:05 PM", DateOrder.MONTH_FIRST).at
    datetime.datetime(2026, 3, 4, 13, 5)
    >>> read_stamp("31.12.2026", DateOrder.MONTH_FIRST) is None
    True
    """
    found = _STAMP.fullmatch(text)
    if found is None:
        return None
    day = _ymd(found["a"], found["b"], found["c"], order)
    clock = _clock(found["h"], found["m"], found["s"], found["half"])
    if day is None or clock is None:
        return None
    try:
        at = datetime(*day, *clock)  # noqa: DTZ001 (loggers write wall-clock times)
    except ValueError:
        return None
    return Stamp(at, _offset_min(found["zone"]))


def in_zone(stamp: Stamp, offset_min: int) -> datetime:
    """Return the wall-clock time of a stamp at an offset; one without its own offset already is that."""
    if stamp.offset_min is None:
        return stamp.at
    written = stamp.at.replace(tzinfo=timezone(timedelta(minutes=stamp.offset_min)))
    return written.astimezone(timezone(timedelta(minutes=offset_min))).replace(tzinfo=None)


def _ymd(a: str, b: str, c: str, order: DateOrder) -> tuple[int, int, int] | None:
    year, month, day = {
        DateOrder.YEAR_FIRST: (a, b, c),
        DateOrder.DAY_FIRST: (c, b, a),
        DateOrder.MONTH_FIRST: (c, a, b),
    }[order]
    if len(year) not in (2, 4) or len(day) > 2 or len(month) > 2:
        return None
    return (int(year) + 2000 if len(year) == 2 else int(year)), int(month), int(day)


def _clock(hour: str | None, minute: str, second: str | None, half: str | None) -> tuple[int, int, int] | None:
    if hour is None:
        return 0, 0, 0
    h = int(hour)
    if half:
        if not 1 <= h <= 12:
            return None
        h = h % 12 + (12 if half[0] in "Pp" else 0)
    return h, int(minute), int(second or 0)


def _offset_min(zone: str | None) -> int | None:
    if zone is None:
        return None
    if zone == "Z":
        return 0
    size = int(zone[1:3]) * 60 + int(zone[-2:])
    return -size if zone[0] == "-" else size
