"""ahead, away and temperatures from a shell: output, JSON, files, bad input."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest

from boxside.actions import areas
from boxside.app import wiring
from tests.cli.conftest import Shell

FIRST = date(2026, 3, 1)


def hourly(path: Path, days: int, heading: str = "Time,Temp °C", spoil: dict[int, str] | None = None) -> Path:
    """Write a logger's table: every three hours, 18 at night to 21 by day; `spoil` replaces lines by number."""
    lines = [heading]
    for n in range(days):
        for hour in range(0, 24, 3):
            lines.append(f"{FIRST + timedelta(days=n)} {hour:02d}:00,{18 + 3 * (9 <= hour <= 18)}.5")
    for number, text in (spoil or {}).items():
        lines[number - 1] = text
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def shelf(small: Shell) -> Shell:
    """Three boxes and one area, the shelf."""
    services = wiring.build(small.folder, date(2026, 5, 3))
    areas.make_area(services, "Shelf", usual_c=20.0)
    services.store.close()
    return small


def test_ahead_says_days_dates_and_reasons(small: Shell) -> None:
    said = small.ok("ahead", "--from", "2026-05-03", "--to", "2026-06-15").out
    assert "Week from 3 May: boxes a day 3.5. 1" in said
    assert re.search(r"First larvae in B02: between 2[789] May and 1[123] Jun, likely [345] Jun", said)
    assert "It takes about 32 days, by the profile alone." in said


def test_ahead_as_json(small: Shell) -> None:
    data = small.ok("ahead", "--from", "2026-05-03", "--to", "2026-06-15", "--json").data
    assert (data["from"], data["to"]) == ("2026-05-03", "2026-06-15")
    (clutch,) = data["expected"]
    assert {"what", "subject", "earliest", "likely", "latest", "reasons"} <= set(clutch)
    assert (clutch["what"], clutch["subject"].split(",")[0], clutch["outlook"]) == ("hatch", "B02", "expected")
    assert clutch["earliest"] < clutch["likely"] < clutch["latest"]
    assert all({"rule", "event", "days", "text"} == set(reason) for reason in clutch["reasons"])
    assert [day["on"] for day in data["days"]][:2] == ["2026-05-03", "2026-05-04"]
    assert len(data["days"]) == 44
    first = data["days"][0]
    assert first["boxes"] == len(first["visits"]) == 1
    assert first["visits"][0]["box"] == "B01"
    assert "Feed" in first["visits"][0]["tasks"]


def test_ahead_changes_nothing_and_repeats(colony: Shell) -> None:
    colony.ok("due")
    before = colony.kept()
    one = colony.ok("ahead", "--from", "2026-05-03", "--to", "2026-08-01", "--json").out
    assert colony.ok("ahead", "--from", "2026-05-03", "--to", "2026-08-01", "--json").out == one
    assert colony.kept() == before


def test_ahead_as_a_calendar(small: Shell, tmp_path: Path) -> None:
    path = tmp_path / "weeks.ics"
    said = small.ok("ahead", "--to", "2026-06-15", "--ics", str(path)).out
    assert f"Written: {path}" in said
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    titles = [str(event["SUMMARY"]) for event in calendar.walk("VEVENT")]
    assert "First larvae in B02" in titles
    assert "1 box due" in titles


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("ahead", "--from", "2026-06-01", "--to", "2026-05-20"), "wrong way round"),
        (("ahead", "--from", "2026-01-01"), "is past"),
        (("ahead", "--to", "soon"), "--to: 'soon' is not a date"),
        (("ahead", "--to", "2029-01-01"), "more than 400 days"),
        (("ahead", "--ics", "/no/such/folder/a.ics"), "/no/such/folder is no folder"),
        (("away", "--from", "2026-05-10"), "--to"),
        (("away", "--from", "2026-05-10", "--to", "2026-05-10"), "return must come after"),
        (("away", "--from", "2026-05-10", "--to", "2026-05-20", "--sheet", "a.doc"), ".txt or .pdf"),
        (("temperatures", "/no/such.csv"), "/no/such.csv cannot be read: No such file"),
        (("temperatures", "/no/such.csv", "--area", "Attic"), "'Attic' names no single area (known: Shelf)"),
    ],
)
def test_bad_input_is_one_line_and_changes_nothing(shelf: Shell, words: tuple[str, ...], said: str) -> None:
    before = shelf.kept()
    answer = shelf(*words)
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.startswith("boxside: ")
    assert answer.err.count("\n") == 1
    assert said in answer.err
    assert shelf.kept() == before


def test_away_says_the_last_day_the_helper_and_the_safe_return(small: Shell, tmp_path: Path) -> None:
    sheets = [tmp_path / "helper.txt", tmp_path / "helper.pdf"]
    for sheet in sheets:
        words = ("--from", "2026-05-03", "--to", "2026-05-24", "--helper", "Alex", "--sheet", str(sheet))
        said = small.ok("away", *words).out
    assert "Away after 3 May, back on 24 May." in said
    assert "Latest safe return without a helper:" in said
    assert "Late if nobody comes:" in said
    text = sheets[0].read_text(encoding="utf-8")
    assert text.startswith("Glow-worms, 3 May to 24 May: for Alex\n")
    assert "[ ] B01" in text
    assert "gloves" in text
    assert "with Alex under Settings, Who logs here" in text
    assert sheets[1].read_bytes().startswith(b"%PDF-1.4")


def test_away_as_json(small: Shell) -> None:
    data = small.ok("away", "--from", "2026-05-03", "--to", "2026-05-24", "--json").data
    assert (data["leave"], data["back"]) == ("2026-05-03", "2026-05-24")
    fed = [job for job in data["last_day"] if job["task"] == "Feed"]
    assert [(job["box"], job["how"]) for job in fed] == [("B01", "3 prey of 3 to 8 mm")]
    assert date.fromisoformat(data["safe_until"]) > date(2026, 5, 3)
    assert data["helper"]
    assert all(date(2026, 5, 3) < date.fromisoformat(day["on"]) < date(2026, 5, 24) for day in data["helper"])
    assert {late["task"] for late in data["unattended"]} >= {"feed", "moisture"}


def test_temperatures_come_in_once_and_again_only_what_is_new(shelf: Shell, tmp_path: Path) -> None:
    path = hourly(tmp_path / "logger.csv", 10)
    assert shelf.ok("temperatures", str(path)).out == "Imported 10 days into Shelf.\n"
    answer = shelf("temperatures", str(path))
    assert answer.status == 2
    assert "10 days are logged already. Nothing was imported." in answer.err
    hourly(path, 12)
    said = shelf.ok("temperatures", str(path), "--json").data
    assert said == {"area": "Shelf", "days": 2, "known": 10, "partial": []}
    assert "the same" in shelf.ok("rebuild").out


def test_temperatures_with_a_bad_line_name_it_and_import_nothing(shelf: Shell, tmp_path: Path) -> None:
    path = hourly(tmp_path / "logger.csv", 10, spoil={9: "2026-03-02 00:00,warm", 12: "yesterday,18.5"})
    before = shelf.kept()
    answer = shelf("temperatures", str(path))
    assert answer.status == 2
    assert "logger.csv, line 9: “warm” is no temperature" in answer.err
    assert "1 more line cannot be read either. Nothing was imported." in answer.err
    assert shelf.kept() == before
    said = shelf.ok("temperatures", str(path), "--preview").out
    assert "line 12: “yesterday” is no date and time" in said
    assert shelf.kept() == before


def test_temperatures_ask_where_a_file_can_be_read_in_two_ways(shelf: Shell, tmp_path: Path) -> None:
    path = tmp_path / "logger.csv"
    rows = [f"{day:02d}/03/2026 {hour:02d}:00,{20 + hour / 10}" for day in range(1, 9) for hour in range(0, 24, 4)]
    path.write_text("When,Sensor 1\n" + "\n".join(rows) + "\n", encoding="utf-8")
    answer = shelf("temperatures", str(path))
    assert answer.status == 2
    assert "Is the day or the month written first? Nothing was imported. Choose a way: 0:" in answer.err
    data = shelf.ok("temperatures", str(path), "--preview", "--json").data
    way = next(way["way"] for way in data["ways"] if way["order"] == "day, month, year")
    assert shelf.ok("temperatures", str(path), "--way", str(way)).out == "Imported 8 days into Shelf.\n"
    # The choice is remembered for files with the same columns.
    path.write_text(path.read_text(encoding="utf-8").replace("/03/", "/04/"), encoding="utf-8")
    assert shelf.ok("temperatures", str(path)).out == "Imported 8 days into Shelf.\n"
    assert shelf.ok("temperatures", str(path), "--preview", "--json").data["remembered"] is True


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "No line has a date with a temperature"),
        (b"\x00\x01\x02PNG", "is no text file"),
        (b"a,b\n1,2\n", "No line has a date with a temperature"),
        (b"Time,Temp\n2031-01-01 00:00,20\n2031-01-01 06:00,20\n2031-01-01 12:00,20\n2031-01-01 18:00,20\n", "future"),
        (b"Time,Temp\n2026-03-01 12:00,20\n", "no day in it is measured throughout"),
        (b"Time,Temp\n2026-03-01 12:00,99\n", "no temperature of a room"),
    ],
    ids=["empty", "binary", "no dates", "future", "one reading", "too hot"],
)
def test_files_that_are_no_record_are_refused(shelf: Shell, tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "logger.csv"
    path.write_bytes(content)
    before = shelf.kept()
    answer = shelf("temperatures", str(path))
    assert answer.status == 2
    assert said in answer.err
    assert answer.err.count("\n") == 1
    assert shelf.kept() == before


def test_temperatures_need_an_area(small: Shell, tmp_path: Path) -> None:
    answer = small("temperatures", str(hourly(tmp_path / "logger.csv", 2)))
    assert (answer.status, "There is no area yet" in answer.err) == (2, True)
