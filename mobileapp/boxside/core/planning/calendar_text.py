"""Dated entries as an iCalendar file that any calendar can take in.

Whole days are written as dates, which no clock change can move. Moments are written in UTC: each was
reckoned from the keeper's wall clock with the rules of its own day, a single moment needs no rule after
that, and a reader shows it by the clock of the place. A VTIMEZONE would be needed only for entries that
repeat by the wall clock, and there are none.

References
----------
Desruisseaux B. 2009, RFC 5545: Internet Calendaring and Scheduling Core Object Specification.
"""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from boxside.core.values.errors import EntryError

_LINE_OCTETS = 75
_ESCAPES = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})


@dataclass(frozen=True, slots=True)
class CalendarEntry:
    """One entry: a whole day (`on`) or a moment (`at`, aware, lasting `minutes`).

    `key` names what the entry is about for good, as box id and task: the same key gives the same entry in the
    calendar, so that a later file replaces it. `alarm_at` is an aware datetime, None for no alarm.
    """

    key: str
    title: str
    on: date | None = None
    at: datetime | None = None
    minutes: int = 15
    details: str = ""
    alarm_at: datetime | None = None


def calendar_file(entries: Sequence[CalendarEntry], stamped_at: datetime, name: str = "Boxside") -> bytes:
    """Return the entries as an iCalendar file: UTF-8, CRLF, lines folded at 75 octets.

    Parameters
    ----------
    entries : in any order, each key once
    stamped_at : when the file is made, aware
    name : how the calendar is called

    Raises
    ------
    EntryError : a key twice, an entry with both or neither of day and moment, a moment without an offset
    """
    keys = [entry.key for entry in entries]
    if len(set(keys)) < len(keys):
        twice = next(key for key in keys if keys.count(key) > 1)
        raise EntryError(f"Two calendar entries are about the same: {twice}. No file was made.")
    stamp = _utc(stamped_at)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Boxside//Boxside//EN", "CALSCALE:GREGORIAN"]
    lines.append(f"X-WR-CALNAME:{_text(name)}")
    for entry in entries:
        lines.extend(_event(entry, stamp))
    lines.append("END:VCALENDAR")
    return b"".join(_folded(line) for line in lines)


def entry_uid(key: str) -> str:
    """Return the unique identifier that a key always gets."""
    digest = hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()
    return f"{digest[:32]}@boxside.invalid"


def _event(entry: CalendarEntry, stamp: str) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{entry_uid(entry.key)}"
    yield f"DTSTAMP:{stamp}"
    yield from _when(entry)
    yield f"SUMMARY:{_text(entry.title)}"
    if entry.details:
        yield f"DESCRIPTION:{_text(entry.details)}"
    yield "TRANSP:TRANSPARENT"
    if entry.alarm_at is not None:
        yield "BEGIN:VALARM"
        yield "ACTION:DISPLAY"
        yield f"DESCRIPTION:{_text(entry.title)}"
        # An absolute trigger: one relative to a whole day is read differently by different calendars.
        yield f"TRIGGER;VALUE=DATE-TIME:{_utc(entry.alarm_at)}"
        yield "END:VALARM"
    yield "END:VEVENT"


def _when(entry: CalendarEntry) -> Iterator[str]:
    if entry.at is not None and entry.on is None:
        yield f"DTSTART:{_utc(entry.at)}"
        yield f"DURATION:PT{max(entry.minutes, 0)}M"
    elif entry.on is not None and entry.at is None:
        yield f"DTSTART;VALUE=DATE:{entry.on:%Y%m%d}"
        yield f"DTEND;VALUE=DATE:{entry.on + timedelta(days=1):%Y%m%d}"
    else:
        raise EntryError(f"“{entry.title}” needs either a day or a moment. No file was made.")


def _utc(moment: datetime) -> str:
    if moment.tzinfo is None:
        raise EntryError(f"{moment.isoformat()} has no offset from UTC. No file was made.")
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(text: str) -> str:
    """A TEXT value: line ends and specials escaped, other controls left out (section 3.3.11)."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    kept = "".join(c for c in lines if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs"))
    return kept.translate(_ESCAPES)


def _folded(line: str) -> bytes:
    """A content line, broken so that no piece is over 75 octets and no character is torn (section 3.1)."""
    pieces, piece = [], b""
    for char in line:
        octets = char.encode("utf-8")
        if len(piece) + len(octets) > _LINE_OCTETS:
            pieces.append(piece)
            piece = b" "
        piece += octets
    pieces.append(piece)
    return b"\r\n".join(pieces) + b"\r\n"
