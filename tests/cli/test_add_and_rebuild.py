"""`boxside add` and `boxside rebuild`."""

from __future__ import annotations

import sqlite3

from tests.cli.conftest import Shell


def test_add_says_what_it_saved(shell: Shell) -> None:
    assert shell.ok("add", "B01").out == "Saved: box B01.\n"
    answer = shell.ok("add", "B02", "--stage", "larva", "--n", "12", "--instar", "3", "--json").data
    assert answer["box"] == "B02"
    assert answer["event"] in {row[1] for row in shell.kept()["SELECT * FROM event ORDER BY row"]}


def test_every_stage_can_move_in(shell: Shell) -> None:
    for n, stage in enumerate(("egg", "larva", "prepupa", "pupa", "adult"), start=1):
        shell.ok("add", f"B{n:02d}", "--stage", stage, "--n", str(n))
        label = {"egg": "egg", "larva": "larvae"}.get(stage, f"{stage[:-1]}ae" if stage.endswith("pa") else "adults")
        assert f"B{n:02d}  About {n} {label}" in shell.ok("log", f"B{n:02d}", "misted").out


def test_fed_today_about_and_unknown_give_different_days(shell: Shell) -> None:
    shell.ok("add", "B01", "--stage", "larva", "--n", "9", "--fed", "today")
    shell.ok("add", "B02", "--stage", "larva", "--n", "9", "--fed", "about", "--days", "5")
    shell.ok("add", "B03", "--stage", "larva", "--n", "9", "--fed", "unknown")
    feeds = {r["box"]: r["on"] for r in shell.ok("due", "--json", on="2026-05-30").data["boxes"] if r["task"] == "feed"}
    assert (feeds["B01"], feeds["B02"]) == ("2026-05-10", "2026-05-05")
    assert "2026-05-03" <= feeds["B03"] <= "2026-05-09"


def test_rebuild_finds_the_state_as_it_was(colony: Shell) -> None:
    before = colony.kept()
    n = len(before["SELECT * FROM event ORDER BY row"])
    answer = colony.ok("rebuild", "--json").data
    assert list(answer) == ["events", "before", "after", "same"]
    assert (answer["events"], answer["same"]) == (n, True)
    assert answer["before"] == answer["after"]
    assert colony.kept() == before


def test_rebuild_mends_a_state_that_was_changed_and_says_so(small: Shell) -> None:
    before = small.kept()
    database = sqlite3.connect(small.folder / "boxside.db")
    database.execute("UPDATE balance SET n = n + 5 WHERE account = ''")
    database.commit()
    database.close()
    said = small.ok("rebuild").out
    assert "DIFFERENT from before" in said
    assert small.kept() == before
    assert "the same as before" in small.ok("rebuild").out
