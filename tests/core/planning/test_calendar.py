from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from boxside.core.planning import CalendarEntry, calendar_file, entry_uid
from boxside.core.values.errors import EntryError

STAMP = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


def test_the_same_key_has_the_same_name_for_good():
    # A changed value would double every entry in the keepers' calendars.
    assert entry_uid("0192f3a0-0000-7000-8000-000000000001/feed") == (
        "16a5b3af5fe1f57f7fe17bccb60b322f@boxside.invalid"
    )


def test_a_key_twice_is_refused():
    twice = [CalendarEntry("k", "a", on=date(2026, 1, 1)), CalendarEntry("k", "b", on=date(2026, 1, 2))]
    with pytest.raises(EntryError, match="about the same: k"):
        calendar_file(twice, STAMP)


def test_day_or_moment_but_not_both_and_never_without_offset():
    naive = datetime(2026, 1, 1, 8)
    for entry in (
        CalendarEntry("k", "a"),
        CalendarEntry("k", "a", on=date(2026, 1, 1), at=STAMP),
        CalendarEntry("k", "a", at=naive),
        CalendarEntry("k", "a", on=date(2026, 1, 1), alarm_at=naive),
    ):
        with pytest.raises(EntryError, match="No file was made"):
            calendar_file([entry], STAMP)
    with pytest.raises(EntryError, match="offset"):
        calendar_file([], naive)


@pytest.mark.parametrize("char", ["a", "ü", "€", "\U0001fab2"])
def test_long_lines_are_filled_up_to_75_octets(char):
    octets = calendar_file([CalendarEntry("k", char * 300, on=date(2026, 1, 1))], STAMP)
    lengths = [len(line) for line in octets.split(b"\r\n")]
    assert max(lengths) <= 75
    assert max(lengths) > 75 - len(char.encode())
    assert octets.replace(b"\r\n ", b"").count((char * 300).encode()) == 1


def test_control_characters_are_left_out():
    octets = calendar_file([CalendarEntry("k", "a\x00\x07b\r\nc", on=date(2026, 1, 1))], STAMP)
    assert b"SUMMARY:ab\\nc\r\n" in octets
