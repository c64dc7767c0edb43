"""Bad input: one clear line, exit status 2, and nothing changed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Answer, Shell

REFUSED = {
    "unknown box": (["log", "B99", "fed"], "There is no box 'B99'"),
    "unknown kind": (["log", "B01", "fedd"], "'fedd' is not a kind of event"),
    "unknown field": (["log", "B01", "fed", "--snails", "3"], "fed has no field --snails (known: --prey"),
    "field without a value": (["log", "B01", "fed", "--prey"], "'--prey' is not understood"),
    "field given twice": (["log", "B01", "fed", "--prey", "a", "--prey", "b"], "--prey is given twice"),
    "word too many": (["log", "B01", "fed", "twice"], "'twice' is not understood"),
    "negative count": (["log", "B01", "count", "--n", "-3"], "How many: -3 is not between 0 and"),
    "count in words": (["log", "B01", "count", "--n", "many"], "--n: 'many' is not a whole number"),
    "half an animal": (["log", "B01", "count", "--n", "3.5"], "--n: '3.5' is not a whole number"),
    "no count": (["log", "B01", "count"], "needs 'how many'"),
    "zero dead": (["log", "B01", "died", "--n", "0"], "How many: 0 is not between 1 and"),
    "not a number": (["log", "B01", "fed", "--amount", "nan"], "nan is not between 0"),
    "endless amount": (["log", "B01", "fed", "--amount", "1e400"], "inf is not between 0"),
    "neither yes nor no": (["log", "B01", "count", "--n", "3", "--complete", "maybe"], "say yes or no"),
    "no such choice": (["log", "B01", "died", "--cause", "boredom"], "'boredom' is none of"),
    "more dead than there are": (["log", "B01", "died", "--n", "31"], "B01 holds 30 animals"),
    "more moved than there are": (["log", "B01", "transfer", "--to-box", "B03", "--n", "31"], "B01 holds 30"),
    "transfer to nowhere": (["log", "B01", "transfer", "--to-box", "B98"], "There is no box 'B98'"),
    "kind for another stage": (["log", "B01", "emerged"], "Emerged does not fit B01: it is for pupa"),
    "eggs do not eat": (["log", "B02", "fed"], "Fed does not fit B02: it is for larva"),
    "an empty box does not eat": (["log", "B03", "fed"], "the box holds no animals"),
    "larvae do not hatch": (["log", "B01", "hatched", "--n", "3"], "Hatched does not fit B01"),
    "kind for the colony": (["log", "B01", "setting_changed", "--key", "theme"], "not logged at a box"),
    "made twice": (["log", "B01", "box_made", "--label", "B77"], "That box is there already"),
    "code in use": (["log", "B01", "box_changed", "--label", "B03"], "There is already a box B03"),
    "code in use, in small letters": (["log", "B01", "box_changed", "--label", "b03"], "There is already a box b03"),
    "endless code": (["log", "B01", "box_changed", "--label", "X" * 13], "a code of 1 to 12 signs"),
    "code with a blank": (["log", "B01", "box_changed", "--label", " X1"], "neither begins nor ends with a blank"),
    "unknown task": (["log", "B01", "later", "--task", "fed", "--days", "3"], "'fed' is not a task (known: feed,"),
    "endless later": (["log", "B01", "later", "--task", "feed", "--days", "61"], "61 is not between 1 and 60"),
    "void is for undo": (["log", "B01", "void"], "Undo takes back what was logged last"),
    "future hour": (["log", "B01", "fed", "--at", "23:00"], "That time lies in the future"),
    "future day": (["log", "B01", "fed", "--at", "2026-05-04T08:00"], "That time lies in the future"),
    "far future": (["log", "B01", "fed", "--at", "9999-12-31T23:59"], "That time lies in the future"),
    "before there were clocks": (["log", "B01", "fed", "--at", "0001-01-01T00:00"], "lies before 1970"),
    "a wrong century": (["log", "B01", "misted", "--at", "1926-05-03T18:00"], "lies before 1970"),
    "no such hour": (["log", "B01", "fed", "--at", "25:00"], "--at: '25:00' is not a time"),
    "no such day": (["log", "B01", "fed", "--at", "2026-02-30"], "--at: '2026-02-30' is not a time"),
    "no time at all": (["log", "B01", "fed", "--at", "yesterday"], "--at: 'yesterday' is not a time"),
    "before the box was": (["log", "B01", "fed", "--at", "2026-04-01T18:00"], "B01 was made on 2026-05-03"),
    "photo without a file": (["log", "B01", "photo"], "needs --path FILE"),
    "photo that is not there": (["log", "B01", "photo", "--path", "/nowhere/b.jpg"], "b.jpg cannot be read"),
    "end before begin": (["season", "--out", "S", "--from", "2026-05-02", "--to", "2026-05-01"], "wrong way round"),
    "from no date": (["season", "--out", "S", "--from", "May"], "--from: 'May' is not a date"),
    "to no date": (["season", "--out", "S", "--to", "2026-13-01"], "--to: '2026-13-01' is not a date"),
    "no folder": (["season"], "required: --out"),
    "box there already": (["add", "B01"], "There is already a box B01"),
    "box there, in small letters": (["add", "b01"], "There is already a box b01"),
    "nameless box": (["add", "  "], "a code of 1 to 12 signs"),
    "box with an endless code": (["add", "X" * 13], "a code of 1 to 12 signs"),
    "nobody knows who": (["add", "B04", "--n", "30"], "Say with --stage who lives in the box"),
    "nobody knows how many": (["add", "B04", "--stage", "larva"], "say about how many"),
    "nobody lives there": (["add", "B04", "--stage", "larva", "--n", "0"], "say about how many"),
    "fewer than none": (["add", "B04", "--stage", "larva", "--n", "-2"], "say about how many"),
    "animals in words": (["add", "B04", "--stage", "larva", "--n", "some"], "--n: invalid int value: 'some'"),
    "no such stage": (["add", "B04", "--stage", "worm", "--n", "3"], "--stage: invalid choice: 'worm'"),
    "no such instar": (["add", "B04", "--stage", "larva", "--n", "3", "--instar", "10"], "Instar: 10 is not between"),
    "eggs with an instar": (["add", "B04", "--stage", "egg", "--n", "3", "--instar", "1"], "are for larvae"),
    "fed eggs": (["add", "B04", "--stage", "egg", "--n", "3", "--fed", "today"], "are for larvae"),
    "about without days": (["add", "B04", "--stage", "larva", "--n", "3", "--fed", "about"], "go together"),
    "days without about": (["add", "B04", "--stage", "larva", "--n", "3", "--days", "4"], "go together"),
    "fed in the future": (
        ["add", "B04", "--stage", "larva", "--n", "3", "--fed", "about", "--days", "-4"],
        "Days ago: -4 is not between 0 and 365",
    ),
    "unknown command": (["feed", "B01"], "invalid choice: 'feed'"),
    "no kind": (["log", "B01"], "required: KIND"),
    "no box": (["log"], "required: BOX, KIND"),
    "word behind due": (["due", "B01"], "'B01' is not understood here"),
    "option that undo has not": (["undo", "--all"], "'--all' is not understood here"),
}


def check_refused(answer: Answer, why: str) -> None:
    assert answer.status == 2, answer
    assert answer.out == ""
    assert len(answer.err.splitlines()) == 1, answer.err
    assert answer.err.startswith("boxside: ")
    assert why in answer.err


@pytest.mark.parametrize(("words", "why"), REFUSED.values(), ids=REFUSED)
def test_refused_in_one_line_and_nothing_changed(small: Shell, words: list[str], why: str) -> None:
    before = small.kept()
    check_refused(small(*words), why)
    assert small.kept() == before


@pytest.mark.parametrize("command", ["due", "undo", "rebuild", "nudge", "demo", "open"])
@pytest.mark.parametrize("day", ["notaday", "2026-02-30", "0001-01-01", "9999-12-31", ""])
def test_a_day_that_is_none_is_refused_by_every_command(small: Shell, command: str, day: str) -> None:
    before = small.kept()
    check_refused(small(command, on=day), "--on: ")
    assert small.kept() == before


def test_no_command_at_all(shell: Shell) -> None:
    check_refused(shell.run(), "required: COMMAND")


def test_a_refused_run_makes_no_folder(shell: Shell) -> None:
    check_refused(shell("due", on="notaday"), "is not a date like 2026-05-03")
    assert not shell.folder.exists()


def test_a_file_that_is_no_photo_is_refused_and_not_kept(small: Shell, tmp_path: Path) -> None:
    text = tmp_path / "notes.jpg"
    text.write_text("not a photo", encoding="utf-8")
    before = small.kept()
    check_refused(small("log", "B01", "photo", "--path", str(text)), "notes.jpg cannot be read as a photo")
    assert small.kept() == before


def test_a_photo_that_ends_too_early_is_refused_and_not_kept(small: Shell, photo: Callable[..., Path]) -> None:
    whole = photo()
    whole.write_bytes(whole.read_bytes()[:-200])
    before = small.kept()
    check_refused(small("log", "B01", "photo", "--path", str(whole)), "cannot be read as a photo")
    assert small.kept() == before


def test_undo_of_an_empty_log(shell: Shell) -> None:
    check_refused(shell("undo"), "nothing left to take back")


def test_help_is_no_refusal(shell: Shell) -> None:
    for words in (["--help"], ["log", "--help"], ["season", "--help"]):
        answer = shell.run(*words)
        assert (answer.status, answer.err) == (0, "")
        assert answer.out.startswith("usage: boxside")


def test_a_data_folder_that_is_a_file_is_a_failure_in_one_line(shell: Shell) -> None:
    shell.folder.write_text("something else", encoding="utf-8")
    answer = shell("due")
    assert (answer.status, answer.out) == (1, "")
    assert len(answer.err.splitlines()) == 1
    assert shell.folder.read_text(encoding="utf-8") == "something else"
