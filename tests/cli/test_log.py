"""`boxside log`: what was seen or done at a box."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from tests.cli.conftest import Shell


def last_event(shell: Shell) -> dict[str, object]:
    """Return the newest row of the log."""
    row = shell.kept()["SELECT * FROM event ORDER BY row"][-1]
    return {"id": row[1], "subject_id": row[4], "fields": json.loads(row[12]), "by": row[13], "note": row[14]}


def test_a_feeding_is_saved_and_its_due_day_moves(small: Shell) -> None:
    said = small.ok("log", "B01", "fed").out
    assert said.splitlines()[0] == "Saved."
    assert "B01  About 30 larvae, instar 2" in said
    assert "Feed" not in said
    (row,) = [r for r in small.ok("due", "--json", on="2026-05-10").data["boxes"] if r["task"] == "feed"]
    assert (row["box"], row["on"]) == ("B01", "2026-05-10")
    assert row["reasons"][0]["text"].startswith("Last fed on 3 May;")


def test_fields_are_kept_as_given_and_what_was_not_said_stays_unsaid(small: Shell) -> None:
    small.ok("log", "B01", "fed", "--prey", "garden snail", "--amount", "2.5", "--note", "small ones", "--by", "M.")
    event = last_event(small)
    assert event["fields"] == {"prey": "garden snail", "amount": 2.5}
    assert (event["note"], event["by"]) == ("small ones", "M.")
    small.ok("log", "B01", "fed")
    assert last_event(small)["fields"] == {}


def test_a_field_may_be_joined_with_its_value_and_written_with_hyphens(small: Shell) -> None:
    small.ok("log", "B01", "transfer", "--to-box=B03", "--n=12", "--counted", "no")
    assert last_event(small)["fields"] == {**last_event(small)["fields"], "n": 12, "counted": False}
    assert "B03  About 12 larvae, instar 2" in small.ok("log", "B03", "misted").out


def test_a_code_is_found_whatever_its_case(small: Shell) -> None:
    assert small.ok("log", "b01", "misted").out.startswith("Saved.\nB01")


def test_a_box_is_also_found_by_its_id(small: Shell) -> None:
    box = str(last_event(small)["subject_id"])
    assert small.ok("log", box, "misted").out.startswith("Saved.\nB03")


def test_json_names_the_event_and_what_is_due(small: Shell) -> None:
    answer = small.ok("log", "B01", "misted", "--json").data
    assert list(answer) == ["event", "due"]
    assert answer["event"] == last_event(small)["id"]
    assert answer["due"] == small.ok("due", "--json").data


def test_a_count_is_complete_unless_said_otherwise(small: Shell) -> None:
    small.ok("log", "B01", "count", "--n", "27")
    assert "B01  27 larvae" in small.ok("log", "B01", "misted").out
    small.ok("log", "B01", "count", "--n", "12", "--complete", "no")
    assert " 27 larvae" in small.ok("log", "B01", "misted").out


def test_what_is_logged_later_stands_later_even_on_one_pinned_day(small: Shell) -> None:
    """Every run with --on begins at the same moment of that day; the order of the runs must still count."""
    small.ok("log", "B01", "count", "--n", "28")
    small.ok("log", "B01", "died", "--n", "2")
    assert "B01  26 larvae" in small.ok("log", "B01", "misted").out
    small.ok("log", "B01", "transfer", "--to-box", "B03", "--n", "10")
    assert " 7 larvae" in small.ok("log", "B03", "died", "--n", "3").out
    assert "B01  16 larvae" in small.ok("log", "B01", "misted").out


def test_a_photo_is_kept_without_where_it_was_taken(small: Shell, photo: Callable[..., Path]) -> None:
    small.ok("log", "B01", "photo", "--path", str(photo()))
    (kept,) = sorted(small.folder.rglob("*.jpg"))
    assert last_event(small)["fields"] == {"sha256": kept.stem}
    assert b"GPS" not in kept.read_bytes()
    assert b"Test camera" not in kept.read_bytes()


def test_every_kind_for_a_living_box_can_be_logged_or_says_what_it_needs(small: Shell) -> None:
    """No kind of the vocabulary ends in a traceback, whatever is left out."""
    import tomllib

    declared = Path(__file__).parents[2] / "shared" / "events.toml"
    kinds = tomllib.loads(declared.read_text(encoding="utf-8"))["kinds"]
    statuses = {}
    for kind in sorted(kinds, key=lambda name: name in ("confirmed_empty", "box_retired", "given_away")):
        answer = small("log", "B01", kind)
        statuses[kind] = answer.status
        assert answer.status in (0, 2), (kind, answer)
        assert len(answer.err.splitlines()) == (1 if answer.status else 0), (kind, answer)
    assert {"fed", "misted", "looked", "died", "moulted"} <= {kind for kind, status in statuses.items() if not status}
    assert {"count", "laid", "void", "box_made"} <= {kind for kind, status in statuses.items() if status == 2}
