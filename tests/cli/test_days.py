"""`--on` makes a run repeatable; `--at` names moments in the keeper's zone, whatever the clocks do."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.cli.conftest import Shell


def events(shell: Shell) -> list[tuple[object, ...]]:
    return shell.kept()["SELECT * FROM event ORDER BY row"]


def test_the_same_commands_on_the_same_day_leave_the_same_log(small: Shell, tmp_path: Path) -> None:
    twin = Shell(tmp_path / "twin", small.capsys)
    shutil.copytree(small.folder, twin.folder)
    said = []
    for one in (small, twin):
        one.ok("log", "B01", "fed", "--prey", "snail")
        one.ok("log", "B01", "count", "--n", "27")
        one.ok("undo")
        one.ok("add", "B07", "--stage", "larva", "--n", "8")
        said.append(one.ok("due", "--json").out)
        one.ok("season", "--out", str(one.folder / "season"))
    assert said[0] == said[1]
    assert small.kept() == twin.kept()
    season = small.folder / "season"
    files = sorted(str(path.relative_to(season)) for path in season.rglob("*") if path.is_file())
    assert len(files) >= 19
    for name in files:
        assert (small.folder / "season" / name).read_bytes() == (twin.folder / "season" / name).read_bytes(), name


def test_asking_changes_no_entry(colony: Shell) -> None:
    before = colony.kept()
    assert colony.ok("due").out == colony.ok("due").out
    assert colony("nudge", "--json").data["on"] == "2026-05-03"
    assert colony.kept() == before


def test_an_entry_of_a_pinned_day_lies_on_its_evening(small: Shell) -> None:
    small.ok("log", "B01", "fed", on="2026-05-20")
    at_ms, offset_min, zone = events(small)[-1][6:9]
    moment = datetime.fromtimestamp(int(str(at_ms)) // 1000, UTC)
    assert (moment.isoformat(), offset_min, zone) == ("2026-05-20T18:00:00+00:00", 120, "Europe/Berlin")


# What the clocks did is the published rule of the EU's summer time (Directive 2000/84/EC): forward at 01:00 UTC
# on the last Sunday of March, back at 01:00 UTC on the last Sunday of October; Berlin is UTC+1 in winter.
AT = {
    "an hour of today": ("18:30", "2026-05-03T16:30:00+00:00", 120),
    "an hour without minutes": ("18", "2026-05-03T16:00:00+00:00", 120),
    "a day alone is its noon": ("2026-05-01", "2026-05-01T10:00:00+00:00", 120),
    "winter time": ("2026-03-28T18:00", "2026-03-28T17:00:00+00:00", 60),
    "summer time the day after": ("2026-03-29T18:00", "2026-03-29T16:00:00+00:00", 120),
    "skipped by the clock": ("2026-03-29T02:30", "2026-03-29T01:30:00+00:00", 120),
    "twice on the clock, the first": ("2025-10-26T02:30", "2025-10-26T00:30:00+00:00", 120),
    "twice, the second by its offset": ("2025-10-26T02:30+01:00", "2025-10-26T01:30:00+00:00", 60),
    "with an offset from elsewhere": ("2026-05-01T23:30-05:00", "2026-05-02T04:30:00+00:00", 120),
    "in UTC": ("2026-05-01T12:00Z", "2026-05-01T12:00:00+00:00", 120),
    "with a blank": ("2026-05-01 12:00", "2026-05-01T10:00:00+00:00", 120),
}


@pytest.mark.parametrize(("text", "moment", "offset_min"), AT.values(), ids=AT)
def test_at_matches_the_rule_of_summer_time(shell: Shell, text: str, moment: str, offset_min: int) -> None:
    shell.ok("add", "B03", on="2025-10-01")
    shell.ok("log", "B03", "misted", "--at", text)
    at_ms, offset, _ = events(shell)[-1][6:9]
    assert datetime.fromtimestamp(int(str(at_ms)) / 1000, UTC).isoformat() == moment
    assert offset == offset_min


@pytest.fixture
def lived_in(shell: Shell) -> Shell:
    """A box that was made and filled in March."""
    shell.ok("add", "B01", "--stage", "larva", "--n", "20", on="2026-03-01")
    return shell


def test_a_feeding_before_midnight_counts_for_its_own_day(lived_in: Shell) -> None:
    """23:30 in Berlin on 1 May is 21:30 UTC; 00:30 on 2 May is 22:30 UTC of 1 May. The keeper's day decides."""
    for at, due_on in (("2026-05-01T23:30", "2026-05-08"), ("2026-05-02T00:30", "2026-05-09")):
        lived_in.ok("log", "B01", "fed", "--at", at, on="2026-05-03")
        rows = lived_in.ok("due", "--json", on="2026-05-12").data["boxes"]
        assert [row["on"] for row in rows if row["task"] == "feed"] == [due_on]


def test_due_days_are_calendar_days_across_a_clock_change(lived_in: Shell) -> None:
    """Seven days after Sunday 22 March is Sunday 29 March, although that week has 167 hours."""
    lived_in.ok("log", "B01", "fed", "--at", "2026-03-22T20:00", on="2026-03-22")
    rows = lived_in.ok("due", "--json", on="2026-03-29").data["boxes"]
    assert [row["on"] for row in rows if row["task"] == "feed"] == ["2026-03-29"]
    assert [r for r in lived_in.ok("due", "--json", on="2026-03-28").data["boxes"] if r["task"] == "feed"] == []
