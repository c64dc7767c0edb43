"""`boxside undo`: takes back what was logged last, as often as there is something to take back."""

from __future__ import annotations

from tests.actions.keeping import STANDING_TABLES
from tests.cli.conftest import Shell


def standing(shell: Shell) -> list[object]:
    """Return all that follows from the entries that count."""
    kept = shell.kept()
    return [kept[sql] for sql in STANDING_TABLES]


def test_undo_gives_the_state_before_and_names_what_it_took_back(small: Shell) -> None:
    before = standing(small)
    due_before = small.ok("due", "--json").data
    small.ok("log", "B01", "fed")
    assert standing(small) != before
    answer = small.ok("undo", "--json").data
    assert list(answer) == ["taken_back", "kind"]
    assert answer["kind"] == "fed"
    assert standing(small) == before
    assert small.ok("due", "--json").data == due_before


def test_undo_deletes_nothing(small: Shell) -> None:
    small.ok("log", "B01", "fed")
    events = small.kept()["SELECT * FROM event ORDER BY row"]
    said = small.ok("undo").out
    assert said == f"Taken back: fed ({events[-1][1]}).\n"
    assert small.kept()["SELECT * FROM event ORDER BY row"][: len(events)] == events


def test_undo_walks_back_through_a_whole_evening(small: Shell) -> None:
    states = [standing(small)]
    acts = [
        ("log", "B01", "count", "--n", "28"),
        ("log", "B01", "died", "--n", "2"),
        ("log", "B01", "transfer", "--to-box", "B03", "--n", "10"),
        ("log", "B03", "died", "--n", "1"),
        ("log", "B02", "hatched", "--n", "40"),
        ("add", "B04", "--stage", "larva", "--n", "9"),
        ("log", "B04", "fed"),
    ]
    for act in acts:
        small.ok(*act)
        states.append(standing(small))
    for state in reversed(states[:-1]):
        small.ok("undo")
        assert standing(small) == state


def test_undo_of_a_new_box_takes_its_animals_back_too(shell: Shell) -> None:
    shell.ok("add", "B01", "--stage", "larva", "--n", "30")
    assert shell.ok("undo", "--json").data["kind"] == "box_made"
    assert standing(shell) == [[], [], [], [], []]
    assert shell("undo").status == 2
    shell.ok("add", "B01", "--stage", "larva", "--n", "30")
