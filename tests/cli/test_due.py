"""`boxside due`: what is due today, at which box, and why."""

from __future__ import annotations

from datetime import date

from tests.cli.conftest import Shell


def test_an_empty_log_says_that_nothing_is_due(shell: Shell) -> None:
    said = shell.ok("due").out
    assert said.startswith("Sunday 2026-05-03: Nothing is due.")
    assert shell.ok("due", "--json").data == {"on": "2026-05-03", "boxes": []}


def test_each_task_is_shown_with_its_reason(small: Shell) -> None:
    said = small.ok("due").out
    assert "Sunday 2026-05-03: 1 box is due." in said
    assert "B01  About 30 larvae, instar 2" in said
    assert "Feed: Due since Friday: last fed about 24 April; young larvae eat about every week." in said


def test_json_names_box_task_days_and_reasons(small: Shell) -> None:
    answer = small.ok("due", "--json").data
    assert list(answer) == ["on", "boxes"]
    (row,) = answer["boxes"]
    assert list(row) == ["box", "task", "earliest", "on", "latest", "reasons"]
    assert (row["box"], row["task"]) == ("B01", "feed")
    assert (row["earliest"], row["on"], row["latest"]) == ("2026-04-29", "2026-05-01", "2026-05-03")
    (reason,) = row["reasons"]
    assert list(reason) == ["rule", "event", "days", "text"]
    assert (reason["rule"], reason["days"]) == ("feeding.young", 7)
    assert "24 April" in reason["text"]


def test_reasons_name_entries_of_the_log(small: Shell) -> None:
    (row,) = small.ok("due", "--json").data["boxes"]
    events = {event[1] for event in small.kept()["SELECT * FROM event ORDER BY row"]}
    assert {reason["event"] for reason in row["reasons"]} <= events


def test_the_window_is_in_order_for_every_task_of_the_colony(colony: Shell) -> None:
    rows = colony.ok("due", "--json").data["boxes"]
    assert len(rows) > 5
    for row in rows:
        earliest, on, latest = (date.fromisoformat(row[key]) for key in ("earliest", "on", "latest"))
        assert earliest <= on <= latest, row
        assert on <= date(2026, 5, 3), row
        assert row["reasons"], row
        assert all(reason["text"].endswith(".") for reason in row["reasons"]), row


def test_text_and_json_name_the_same_boxes_in_the_same_order(colony: Shell) -> None:
    said = [line.split()[0] for line in colony.ok("due").out.splitlines() if line.startswith("B")]
    rows = colony.ok("due", "--json").data["boxes"]
    assert said == list(dict.fromkeys(row["box"] for row in rows))


def test_a_later_day_has_more_due_and_changes_no_entry(small: Shell) -> None:
    before = small.kept()
    later = small.ok("due", "--json", on="2026-06-20").data
    assert {row["box"] for row in later["boxes"]} == {"B01", "B02"}
    assert {"watch_hatch", "feed", "moisture"} <= {row["task"] for row in later["boxes"]}
    assert small.kept() == before
