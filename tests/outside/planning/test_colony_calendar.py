"""The colony's calendar file as an independent reader of the standard sees it.

Desruisseaux B. 2009, RFC 5545: Internet Calendaring and Scheduling Core Object Specification; read by the
`icalendar` package.
"""

from __future__ import annotations

from datetime import UTC, date, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest

from boxside.actions import ahead
from boxside.actions.calendar import calendar_bytes
from boxside.actions.settings import change_setting
from tests.actions.keeping import Keeper


def events(keeper: Keeper, days: int = 27) -> list[icalendar.Event]:
    from boxside.actions.context import today

    first = today(keeper.services)
    view = ahead.ahead_view(keeper.services, first, first + timedelta(days=days))
    parsed = icalendar.Calendar.from_ical(calendar_bytes(keeper.services, view))
    assert parsed.errors == []
    found = list(parsed.walk("VEVENT"))
    assert all(event.errors == [] for event in found)
    return found


def test_every_entry_has_its_own_lasting_identifier_matches_desruisseaux_2009(demo: Keeper) -> None:
    first = {str(event["UID"]): str(event["SUMMARY"]) for event in events(demo)}
    assert len(first) == len(events(demo)) > 20
    again = {str(event["UID"]): str(event["SUMMARY"]) for event in events(demo)}
    assert again == first


def test_an_expectation_keeps_its_identifier_while_its_days_move_matches_desruisseaux_2009(keeper: Keeper) -> None:
    keeper.add("B01", "egg", 60)
    named = "First larvae in B01"
    (before,) = [event for event in events(keeper, 60) if event["SUMMARY"] == named]
    keeper.stand("2026-06-04")
    keeper.log("B01", "looked")
    (after,) = [event for event in events(keeper, 60) if event["SUMMARY"] == named]
    assert before["UID"] == after["UID"]
    assert before.decoded("DTSTART") < after.decoded("DTSTART")
    assert "Expected between" in str(after["DESCRIPTION"])


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("Europe/Berlin", "2026-03-22"),
        ("Europe/Berlin", "2026-10-18"),
        ("America/New_York", "2026-03-01"),
        ("Australia/Lord_Howe", "2026-03-29"),
    ],
)
def test_alarms_ring_at_the_nudge_hour_of_the_wall_clock_matches_desruisseaux_2009(
    keeper: Keeper, zone: str, day: str
) -> None:
    change_setting(keeper.services, "zone", zone)
    change_setting(keeper.services, "nudge_minute", 18 * 60 + 30)
    keeper.stand(day, minute=12 * 60)
    keeper.add("B01", "larva", 30, instar=1, fed="today")
    found = events(keeper)
    offsets = set()
    for event in found:
        (alarm,) = event.walk("VALARM")
        rings = alarm.decoded("TRIGGER")
        assert rings.tzinfo is not None
        assert rings.utcoffset() == timedelta(0)
        local = rings.astimezone(ZoneInfo(zone))
        assert (local.hour, local.minute) == (18, 30)
        assert local.date() == event.decoded("DTSTART")
        offsets.add(local.utcoffset())
    # The weeks looked at do hold a clock change.
    assert len(offsets) == 2


def test_whole_days_are_dates_that_no_clock_change_moves_matches_desruisseaux_2009(keeper: Keeper) -> None:
    keeper.stand("2026-03-20")
    keeper.add("B01", "larva", 30, instar=1, fed="today")
    for event in events(keeper):
        start, end = event.decoded("DTSTART"), event.decoded("DTEND")
        assert type(start) is date
        assert end - start == timedelta(days=1)
        assert event.decoded("DTSTAMP").astimezone(UTC).date() == date(2026, 3, 20)
