"""`boxside demo`: the main job once, on an invented colony, the same for the same day, and never on a real log."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from boxside.cli import app_commands
from tests.cli.conftest import Answer, Shell


@pytest.fixture(autouse=True)
def started(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Keep the app from starting; remember how it would have been."""
    words: list[list[str]] = []
    monkeypatch.setattr(app_commands, "missing_gl", lambda: "")
    monkeypatch.setattr(app_commands, "has_display", lambda: True)
    monkeypatch.setattr(app_commands.subprocess, "Popen", lambda argv, **_: words.append(argv))
    return words


@pytest.fixture
def demo(shell: Shell, tmp_path: Path) -> Answer:
    """What the demo of 3 May 2026 says."""
    return shell.ok("demo", "--out", str(tmp_path / "out"))


def test_it_shows_the_round_a_feeding_the_nudges_and_the_season(
    shell: Shell, demo: Answer, tmp_path: Path, started: list[list[str]]
) -> None:
    said = demo.out
    assert said.startswith("An invented colony of common glow-worms: 24 boxes, two seasons.")
    n = int(re.search(r"2026-05-03: (\d+) boxes are due\.", said)[1])  # type: ignore[index]
    shown = re.findall(r"^(B\d\d)  \d+ \w+", said, re.MULTILINE)
    assert len(shown) == n
    before, after = re.findall(r"^(?:Before: |Fed:    )(B\d\d)  Feed: (.+)$", said, re.MULTILINE)
    assert before[0] == after[0]
    assert "last fed on 3 May" in after[1]
    assert "last fed on 3 May" not in before[1]
    nudges = said.partition("The next nudges, if nothing else is done:")[2].partition("The season as CSV")[0]
    assert len(re.findall(r"^  \d+ May 2026 18:00  B\d\d", nudges, re.MULTILINE)) == 4
    assert f"The season as CSV: {tmp_path / 'out' / 'season' / 'datapackage.json'}" in said
    assert (tmp_path / "out" / "season" / "datapackage.json").exists()
    assert re.search(r"^ +[\d,]+ feedings$", said, re.MULTILINE)
    (words,) = started
    assert words[3:] == ["--data", str(shell.folder), "--on", "2026-05-03"]


def test_twice_the_same_day_is_twice_the_same(shell: Shell, demo: Answer, tmp_path: Path) -> None:
    season = tmp_path / "out" / "season"
    first = {path: path.read_bytes() for path in season.rglob("*") if path.is_file()}
    assert sum(path.suffix == ".png" for path in first) >= 8
    kept = shell.kept()
    again = shell.ok("demo", "--out", str(tmp_path / "out"))
    assert again.out == demo.out
    assert {path: path.read_bytes() for path in season.rglob("*") if path.is_file()} == first
    assert shell.kept() == kept


def test_it_leaves_a_colony_of_24_boxes_that_the_commands_work_on(shell: Shell, demo: Answer, tmp_path: Path) -> None:
    codes = {row[3] for row in shell.kept()["SELECT * FROM entity ORDER BY type, id"] if row[0] == "box"}
    assert codes == {f"B{n:02d}" for n in range(1, 25)}
    lines = (tmp_path / "out" / "season" / "feedings.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert {re.search(r",(\d{4})-\d\d-\d\d,", line)[1] for line in lines} >= {"2024", "2025"}  # type: ignore[index]
    fed = re.search(r"^Fed: +(B\d\d)", demo.out, re.MULTILINE)[1]  # type: ignore[index]
    assert shell.ok("undo", "--json").data["kind"] == "fed"
    assert shell.ok("log", fed, "fed").out.startswith("Saved.")
    assert shell.ok("rebuild", "--json").data["same"] is True


def test_a_real_log_is_never_touched(small: Shell, tmp_path: Path, started: list[list[str]]) -> None:
    before = small.kept()
    answer = small("demo", "--out", str(tmp_path / "out"))
    assert (answer.status, answer.out) == (2, "")
    assert "holds a real log. Nothing was changed. Give the demo another folder." in answer.err
    assert small.kept() == before
    assert not (tmp_path / "out").exists()
    assert started == []


def test_a_real_log_where_a_demo_once_was_is_never_touched(small: Shell, tmp_path: Path) -> None:
    """The note that a demo leaves in its folder may outlive it; only the log itself can say what it is."""
    (small.folder / "this-is-the-demo-colony.txt").write_text("An invented colony.\n", encoding="utf-8")
    before = small.kept()
    assert small("demo", "--out", str(tmp_path / "out")).status == 2
    assert small.kept() == before


def test_bad_days_and_foreign_files_are_refused_before_an_earlier_demo_goes(colony: Shell, tmp_path: Path) -> None:
    before = colony.kept()
    assert colony("demo", "--out", str(tmp_path / "out"), on="2026-02-30").status == 2
    (tmp_path / "out" / "season").mkdir(parents=True)
    (tmp_path / "out" / "season" / "events.csv").write_text("mine\n", encoding="utf-8")
    answer = colony("demo", "--out", str(tmp_path / "out"))
    assert answer.status == 2
    assert "holds other files" in answer.err
    assert colony.kept() == before
    assert (tmp_path / "out" / "season" / "events.csv").read_text(encoding="utf-8") == "mine\n"


def test_without_graphics_it_still_does_all_but_the_app(
    colony: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, started: list[list[str]]
) -> None:
    monkeypatch.setattr(app_commands, "missing_gl", lambda: "libEGL missing")
    said = colony.ok("demo", "--out", str(tmp_path / "out")).out
    assert "The app was not started: libEGL missing. Install it: apt-get install" in said
    assert (tmp_path / "out" / "season" / "datapackage.json").exists()
    assert started == []


def test_without_folders_it_makes_its_own(
    shell: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, started: list[list[str]]
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    answer = shell.run("demo", "--on", "2026-05-03")
    assert (answer.status, answer.err) == (0, "")
    (fresh,) = tmp_path.glob("boxside-demo-*")
    assert str(fresh / "out" / "season" / "datapackage.json") in answer.out
    assert started[0][3:] == ["--data", str(fresh / "data"), "--on", "2026-05-03"]
    shutil.rmtree(fresh)
