"""Moments and days against the published rules of zones, RFC 3339, and dateutil as a reader of its own."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil import parser, tz
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.values.moments import day_of, iso_text, local_ms, offset_min_of, to_ms
from tests.outside.standards.conftest import published

ZONES = published("zones")
STAMPS = published("standards")["timestamps"]["cases"]
QUARTER = timedelta(minutes=15)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def minute_of(moment: datetime) -> int:
    return moment.hour * 60 + moment.minute


@pytest.mark.parametrize("change", ZONES["change"], ids=lambda one: f"{one['zone']} {one['utc']}")
def test_the_offsets_beside_a_clock_change_match_eggert_2024(change: dict[str, Any]) -> None:
    zone, at_ms = ZoneInfo(change["zone"]), to_ms(utc(change["utc"]))
    assert offset_min_of(at_ms - 1, zone) == change["before"]
    assert offset_min_of(at_ms, zone) == change["after"]
    for ms, offset_min in ((at_ms - 1, change["before"]), (at_ms, change["after"])):
        shifted = utc(change["utc"]) + timedelta(milliseconds=ms - at_ms, minutes=offset_min)
        assert day_of(ms, zone) == shifted.date()


@pytest.mark.parametrize("wall", ZONES["wall"], ids=lambda one: f"{one['zone']} {one['wall']}")
def test_wall_times_that_are_skipped_or_come_twice_match_desruisseaux_2009(wall: dict[str, Any]) -> None:
    said = datetime.fromisoformat(wall["wall"])
    assert local_ms(said.date(), minute_of(said), ZoneInfo(wall["zone"])) == to_ms(utc(wall["utc"]))


def changes(zone: str, year: int) -> Iterator[datetime]:
    """Yield, to the quarter of an hour, the last moment before each change that dateutil finds in a year."""
    other, at = tz.gettz(zone), datetime(year, 1, 1, tzinfo=UTC)
    while at.year == year:
        later = at + timedelta(days=1)
        if at.astimezone(other).utcoffset() != later.astimezone(other).utcoffset():
            quarters = [at + n * QUARTER for n in range(97)]
            offsets = [moment.astimezone(other).utcoffset() for moment in quarters]
            yield from (quarters[n] for n in range(96) if offsets[n] != offsets[n + 1])
        at = later


def compare(zone_name: str, middle: datetime) -> tuple[int, int]:
    """Compare two days of instants and of wall times around a change; return how many were skipped and twice."""
    zone, other = ZoneInfo(zone_name), tz.gettz(zone_name)
    skipped = twice = 0
    for n in range(-96, 97):
        moment = middle + n * QUARTER
        there, ms = moment.astimezone(other), to_ms(moment)
        offset = there.utcoffset()
        assert offset is not None
        assert day_of(ms, zone) == there.date(), f"{zone_name} {moment}"
        assert offset_min_of(ms, zone) == offset // timedelta(minutes=1), f"{zone_name} {moment}"
        wall = middle.astimezone(other).replace(tzinfo=None) + n * QUARTER
        said = wall.replace(tzinfo=other, fold=0)
        expected = tz.resolve_imaginary(said).astimezone(UTC)
        assert local_ms(wall.date(), minute_of(wall), zone) == to_ms(expected), f"{zone_name} {wall}"
        skipped += not tz.datetime_exists(said)
        twice += tz.datetime_ambiguous(said)
    return skipped, twice


@pytest.mark.parametrize("zone", ZONES["years"]["zones"])
def test_days_offsets_and_wall_times_around_clock_changes_match_niemeyer_2003(zone: str) -> None:
    found = [compare(zone, middle) for year in ZONES["years"]["years"] for middle in changes(zone, year)]
    assert found, "the years hold a change"
    assert all(skipped or twice for skipped, twice in found)
    if zone != "Asia/Kathmandu":
        assert any(skipped for skipped, _ in found)
        assert any(twice for _, twice in found)


@pytest.mark.parametrize("case", STAMPS, ids=lambda case: case["text"])
def test_iso_text_matches_klyne_2002(case: dict[str, Any]) -> None:
    assert iso_text(case["unix_ms"], case["offset_min"]) == case["text"]


@given(st.integers(-(10**13), 4 * 10**12), st.integers(-14 * 60, 14 * 60))
@settings(deadline=None, max_examples=200)
def test_iso_text_is_read_back_by_dateutil_matches_niemeyer_2003(ms: int, offset_min: int) -> None:
    text = iso_text(ms, offset_min)
    for back in (parser.isoparse(text), datetime.fromisoformat(text)):
        assert to_ms(back) == ms // 1000 * 1000
        assert back.utcoffset() == timedelta(minutes=offset_min)


@given(st.integers(0, 4 * 10**12), st.sampled_from(ZONES["years"]["zones"]))
@settings(deadline=None, max_examples=100)
def test_text_with_the_zone_s_own_offset_says_the_keeper_s_day(ms: int, name: str) -> None:
    zone = ZoneInfo(name)
    offset_min = offset_min_of(ms, zone)
    assert iso_text(ms, offset_min)[:10] == day_of(ms, zone).isoformat()
    assert day_of(ms, timezone(timedelta(minutes=offset_min))) == day_of(ms, zone)
