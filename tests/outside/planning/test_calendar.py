from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.planning import CalendarEntry, calendar_file, entry_uid
from boxside.core.values.moments import from_ms, local_ms

BERLIN = ZoneInfo("Europe/Berlin")
STAMP = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
# Everything but controls, which the standard does not allow in a text, and surrogates.
printable = st.text(st.characters(exclude_categories=("Cc", "Cs")) | st.just("\n"), max_size=200)


def events(entries):
    parsed = icalendar.Calendar.from_ical(calendar_file(entries, STAMP))
    assert parsed.errors == []
    found = list(parsed.walk("VEVENT"))
    assert all(event.errors == [] for event in found)
    return found


def test_a_whole_day_matches_desruisseaux_2009():
    (event,) = events([CalendarEntry("b07/feed", "Feed B07", on=date(2026, 3, 29), details="Since 22 March")])
    assert event.decoded("DTSTART") == date(2026, 3, 29)
    assert event.decoded("DTEND") == date(2026, 3, 30)
    assert str(event["SUMMARY"]) == "Feed B07"
    assert str(event["DESCRIPTION"]) == "Since 22 March"
    assert str(event["UID"]) == entry_uid("b07/feed")
    assert event.decoded("DTSTAMP") == STAMP


@pytest.mark.parametrize("day", [date(2026, 3, 28), date(2026, 3, 29), date(2026, 10, 25), date(2026, 10, 26)])
def test_local_times_survive_both_clock_changes_matches_desruisseaux_2009(day):
    at = from_ms(local_ms(day, 19 * 60 + 30, BERLIN), BERLIN)
    alarm = from_ms(local_ms(day, 18 * 60, BERLIN), BERLIN)
    (event,) = events([CalendarEntry("dusk", "Females glow", at=at, minutes=45, alarm_at=alarm)])
    shown = event.decoded("DTSTART").astimezone(BERLIN)
    assert (shown.date(), shown.hour, shown.minute) == (day, 19, 30)
    assert event.decoded("DURATION") == timedelta(minutes=45)
    (trigger,) = event.walk("VALARM")
    assert str(trigger["ACTION"]) == "DISPLAY"
    rings = trigger.decoded("TRIGGER").astimezone(BERLIN)
    assert (rings.date(), rings.hour, rings.minute) == (day, 18, 0)


@settings(deadline=None, max_examples=100)
@given(printable, printable)
def test_any_text_comes_back_matches_desruisseaux_2009(title, details):
    (event,) = events([CalendarEntry("k", "x" + title, on=date(2026, 1, 1), details="y" + details)])
    assert str(event["SUMMARY"]) == "x" + title
    assert str(event["DESCRIPTION"]) == "y" + details


@settings(deadline=None, max_examples=60)
@given(st.lists(printable, min_size=1, max_size=5))
def test_lines_are_folded_at_75_octets_matches_desruisseaux_2009(titles):
    # Section 3.1: CRLF ends every line, no line is over 75 octets without it, no character is torn.
    entries = [CalendarEntry(str(i), title, on=date(2026, 1, 1)) for i, title in enumerate(titles)]
    octets = calendar_file(entries, STAMP)
    assert octets.endswith(b"END:VCALENDAR\r\n")
    lines = octets.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    for line in lines:
        line.decode("utf-8")
    whole = octets.replace(b"\r\n ", b"").split(b"\r\n")
    assert whole[0] == b"BEGIN:VCALENDAR"
    assert sum(line == b"BEGIN:VEVENT" for line in whole) == len(titles)


def test_specials_are_escaped_as_printed_in_the_standard_matches_desruisseaux_2009():
    # Section 3.3.11, its example from memory; the library above reads it back the same.
    text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    octets = calendar_file([CalendarEntry("k", text, on=date(2026, 1, 1))], STAMP)
    assert rb"SUMMARY:Project XYZ Final Review\nConference Room - 3B\nCome Prepared." in octets
    octets = calendar_file([CalendarEntry("k", "a;b,c\\d", on=date(2026, 1, 1))], STAMP)
    assert rb"SUMMARY:a\;b\,c\\d" in octets
