"""Local times of nudges against published rules and an independent reader of the zone tables (dateutil)."""

from __future__ import annotations

import tomllib
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import dateutil
import pytest
from dateutil import tz

from boxside.core.care import plan
from boxside.core.values.due import Due, Reason
from boxside.core.values.moments import to_ms
from boxside.core.values.nudge import BoxDues, Digest, NudgePrefs

SHARED = Path(__file__).parents[3] / "shared"
CHANGES = tomllib.loads((SHARED / "checks" / "care-clock-changes.toml").read_text(encoding="utf-8"))["change"]
ZONES = (
    "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "America/Santiago", "Asia/Kathmandu", "Africa/Cairo",
)  # fmt: skip


def digests(zone: str, day: date, minute: int, days: int) -> dict[date, Digest]:
    """A box that is due all along, so that every day has its digest at that minute."""
    due = Due("b1", "feed", day, day, day, (Reason("rule", None, 0, "A rule."),))
    prefs = NudgePrefs(slots=(minute,), quiet_from=0, quiet_to=0, zone=zone)
    before_ms = to_ms(datetime(day.year, day.month, day.day, tzinfo=UTC)) - 36 * 3_600_000
    made = plan([BoxDues("b1", "B01", "larvae", (due,))], prefs, before_ms, ZoneInfo(zone), days=days + 3)
    return {one.day: one for one in made.digests}


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: f"{change['zone']}-{change['wall']}")
def test_digest_at_a_clock_change_matches_directive_2000_84_ec_2001(change: dict[str, Any]) -> None:
    wall, utc = datetime.fromisoformat(change["wall"]), datetime.fromisoformat(change["utc"]).replace(tzinfo=UTC)
    found = digests(change["zone"], wall.date(), wall.hour * 60 + wall.minute, 1)
    assert found[wall.date()].at_ms == to_ms(utc)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("minute", [0, 15, 90, 135, 150, 1080, 1439])
def test_digests_of_four_hundred_days_match_dateutil_2024(zone: str, minute: int) -> None:
    """Every day's instant equals what dateutil makes of the same wall time, skipped hours moved on by it.

    Source: dateutil, its own reader of the system's zone files and its own rule for imaginary wall times
    (`resolve_imaginary`); the first of two equal wall times is fold 0.
    """
    other = tz.gettz(zone)
    start, checked = date(2025, 10, 1), 0
    for day, one in digests(zone, start, minute, 400).items():
        wall = datetime(day.year, day.month, day.day, minute // 60, minute % 60, tzinfo=other)
        real = dateutil.tz.resolve_imaginary(wall)
        if real.date() != day:
            continue
        assert one.at_ms == to_ms(real.astimezone(UTC)), f"{zone} {wall}"
        assert one.at_local == real.strftime("%Y-%m-%dT%H:%M")
        checked += 1
    assert checked >= 400
