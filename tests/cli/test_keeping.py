"""archive, restore, merge, check, repair from a shell."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from boxside.store import snapshots
from tests.cli.conftest import Shell


def other(small: Shell, tmp_path: Path) -> Shell:
    """Another shell on an empty folder."""
    return Shell(tmp_path / "other", small.capsys)


def test_from_one_computer_to_another(small: Shell, tmp_path: Path) -> None:
    path = str(tmp_path / "a.zip")
    made = small.ok("archive", path, "--json").data
    assert (made["made"], made["path"], made["photos"]) == (True, path, 0)
    assert small.ok("archive", path, "--verify", "--json").data == made
    new = other(small, tmp_path)
    shown = new.ok("restore", path, "--preview")
    assert shown.out.startswith(f"{made['events']} events, 0 photos, newest ")
    assert new.ok("due", "--json").data["boxes"] == []
    assert new.ok("restore", path).out.startswith(f"Restored: {made['events']} events")
    assert new.ok("due", "--json").data == small.ok("due", "--json").data
    assert new.ok("archive", str(tmp_path / "b.zip"), "--json").data["sha256"] == made["sha256"]
    again = new("restore", path)
    assert (again.status, again.out) == (2, "")
    assert "There is a log here already" in again.err


def test_a_merge_shown_done_and_taken_back(small: Shell, tmp_path: Path) -> None:
    second = other(small, tmp_path)
    # Another day: `--on` repeats the ids of a day, so two logs of one day would have the same ones.
    second.ok("add", "B01", "--stage", "larva", "--n", "7", on="2026-05-02")
    path = str(tmp_path / "a.zip")
    n = second.ok("archive", path, "--json").data["events"]
    before = small.kept()
    shown = small.ok("merge", path, "--preview", "--json").data
    assert (shown["new_events"], shown["known_events"], shown["stops"]) == (n, 0, "")
    assert [conflict["kind"] for conflict in shown["conflicts"]] == ["label"]
    assert small.kept() == before
    said = small.ok("merge", path).out
    assert f"{n} of {n} events are new" in said
    assert "one is shown as B01·2" in said
    assert small.kept() != before
    assert "Taken back" in small.ok("merge", "--undo").out
    assert small.kept() == before
    undone = small("merge", "--undo")
    assert (undone.status, undone.out) == (2, "")


@pytest.mark.parametrize(
    "words",
    [("archive",), ("archive", "a.zip", "--if-due"), ("archive", "--verify"), ("merge",), ("merge", "a.zip", "--undo"),
     ("merge", "none.zip"), ("restore", "none.zip"), ("archive", "none.zip", "--verify"), ("archive", "none/a.zip")],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_in_one_line(small: Shell, words: tuple[str, ...]) -> None:
    before = small.kept()
    answer = small(*words)
    assert (answer.status, answer.out, answer.err.count("\n")) == (2, "", 1)
    assert small.kept() == before


def test_a_bad_archive_is_refused_in_one_line(small: Shell, tmp_path: Path) -> None:
    (tmp_path / "bad.zip").write_bytes(b"no zip")
    answer = small("merge", str(tmp_path / "bad.zip"))
    assert (answer.status, answer.out) == (1, "")
    assert "is no zip that can be read" in answer.err
    assert answer.err.count("\n") == 1


def test_archives_by_the_calendar(small: Shell, tmp_path: Path) -> None:
    folder = tmp_path / "card"
    folder.mkdir()
    assert str(folder) in small.ok("archive", "--into", str(folder)).out
    assert small.ok("archive", "--if-due", "--json", on="2027-01-01").data["made"] is True
    assert small.ok("archive", "--if-due", "--json", on="2027-01-02").data["made"] is False
    assert [path.name for path in folder.iterdir()] == ["boxside-2027-01-01.zip"]
    (folder / "boxside-2027-01-01.zip").unlink()
    folder.rmdir()
    failed = small("archive", "--if-due", on="2027-03-01")
    assert (failed.status, failed.err) == (1, "")
    assert "was not made" in failed.out
    assert "None is made by itself" in small.ok("archive", "--into", "none").out


def test_check_and_repair(small: Shell) -> None:
    small.ok("log", "B01", "misted")
    assert [one.why for one in snapshots.snapshots(small.folder)] == ["daily"], "the day's first save sets a copy aside"
    sound = small.ok("check", "--json").data
    assert sound["sound"] is True
    assert {line["what"] for line in sound["lines"]} == {"file", "entries", "state", "photos", "copies"}
    file = small.folder / "boxside.db"
    whole = file.read_bytes()
    assert b'"label":"B01"' in whole
    file.write_bytes(whole.replace(b'"label":"B01"', b'"label":"B00"'))
    bad = small("check")
    assert bad.status == 1
    assert "1 entry changed" in bad.out
    assert json.loads(small("check", "--json").out)["sound"] is False
    done = small.ok("repair", "--json").data
    assert done["gone"] == 0
    assert done["salvaged"] > 0, "what was logged after the copy"
    assert Path(done["aside"]).read_bytes()
    assert small.ok("check", "--json").data["sound"] is True
    assert small.ok("repair").out.startswith("Nothing is damaged.")


def test_a_log_that_does_not_open_is_repaired_before_the_command(small: Shell) -> None:
    small.ok("log", "B01", "misted")
    due = small.ok("due", "--json").data
    file = small.folder / "boxside.db"
    file.write_bytes(bytes(4096) + file.read_bytes()[4096:])
    answer = small("due", "--json")
    assert (answer.status, answer.data) == (0, due)
    assert "was damaged on the disk" in answer.err
    assert answer.err.count("\n") == 1
    small.ok("due")
