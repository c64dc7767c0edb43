"""The shelf at a glance, and one box with its history."""

from __future__ import annotations

import pytest

from boxside.actions import correct_event, show_box, show_shelf, void_event
from boxside.core.values.errors import EntryError
from tests.actions.keeping import Keeper


def test_the_shelf_has_every_open_box_most_pressing_first(demo: Keeper) -> None:
    view = show_shelf.shelf_view(demo.services)
    assert view.total == 24
    due = demo.due_labels()
    assert [row.label for row in view.rows[: len(due)]] == due
    assert all(row.due_today for row in view.rows[: len(due)])
    rest = view.rows[len(due) :]
    assert not any(row.due_today or row.late for row in rest)
    assert [row.label for row in rest] == sorted(row.label for row in rest)


def test_a_row_says_who_what_and_why(keeper: Keeper) -> None:
    keeper.add("B01", n=12, instar=1, fed="about", fed_days=8)
    keeper.add("B02", n=12, instar=1, fed="today")
    keeper.add("B03", stage="")
    first, second, third = show_shelf.shelf_view(keeper.services).rows
    assert (first.label, first.who, first.due) == ("B01", "about 12 larvae, instar 1", "Feed: due since saturday")
    assert first.why.startswith("Due since Saturday: last fed about 25 April")
    assert (second.label, second.due, second.why) == ("B02", "Check moisture on 8 May", "")
    assert (third.label, third.who, third.due) == ("B03", "no animals", "Nothing planned")


@pytest.mark.parametrize(
    ("search", "found"),
    [("", 24), ("B1", 10), ("b1", 10), ("24", 1), ("X", 0), ("0", 11), ("'", 0), ("%", 0), ("_", 0)],
)
def test_search_finds_codes_that_hold_what_is_typed(demo: Keeper, search: str, found: int) -> None:
    view = show_shelf.shelf_view(demo.services, search)
    assert (view.total, len(view.rows), view.search) == (found, found, search)
    assert all(search.upper() in row.label for row in view.rows)


def test_pages_make_up_the_whole(demo: Keeper) -> None:
    whole = show_shelf.shelf_view(demo.services).rows
    pages = [show_shelf.shelf_view(demo.services, "", offset, 7) for offset in range(0, 28, 7)]
    assert tuple(row for page in pages for row in page.rows) == whole
    assert {page.total for page in pages} == {24}


def test_a_retired_box_is_off_the_shelf_and_the_round(keeper: Keeper) -> None:
    keeper.add("B01", n=12, instar=1, fed="about", fed_days=8)
    box = keeper.id("B01")
    keeper.log("B01", "box_retired")
    assert show_shelf.shelf_view(keeper.services).total == 0
    assert keeper.due_labels() == []
    assert not show_box.box_view(keeper.services, box).is_open


def test_history_shows_what_was_struck_and_why(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    box = keeper.id("B01")
    fed = keeper.log("B01", "fed", amount=2)
    counted = keeper.log("B01", "count", n=21)
    void_event.void_event(keeper.services, fed.event_id)
    keeper.wait(60)
    correct_event.correct_event(keeper.services, counted.event_id, {"n": 1, "complete": False}, note="in the dark")
    rows = show_box.box_view(keeper.services, box).history
    shown = {(row.label, row.detail, row.struck, row.note) for row in rows}
    assert ("Fed", "prey items 2", "taken back", "") in shown
    assert ("Taken back", "fed", "", "") in shown
    assert ("Counted", "21 animals, complete", "corrected", "") in shown
    assert ("Counted", "1 animal, not complete: some may be hidden", "", "in the dark") in shown
    assert {row.label for row in rows if not row.can_correct} == {"Fed", "Taken back", "Counted"}
    assert [row.can_correct for row in rows if row.label == "Counted"] == [True, False]


def test_history_comes_in_pages_newest_first(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    for n in range(40):
        keeper.wait(60)
        keeper.log("B01", "misted" if n % 2 else "looked")
    view = show_box.box_view(keeper.services, keeper.id("B01"))
    assert (len(view.history), view.more_history) == (30, True)
    assert [row.kind for row in view.history[:2]] == ["misted", "looked"]
    whole = show_box.box_view(keeper.services, keeper.id("B01"), limit=100)
    assert (len(whole.history), whole.more_history) == (43, False)
    assert whole.history[:30] == view.history


def test_values_can_be_corrected_as_they_are_shown(demo: Keeper) -> None:
    """Correcting an entry with the very values that its row carries changes nothing but the id."""
    view = show_box.box_view(demo.services, demo.id("B12"), limit=12)
    before = demo.n("B12")
    for row in view.history:
        if row.can_correct and row.kind != "box_made":
            correct_event.correct_event(demo.services, row.event_id, row.values)
    assert demo.n("B12") == before
    assert demo.totals().holds


def test_facts_say_since_when_and_what_was_lost(keeper: Keeper) -> None:
    keeper.stand("2026-04-20")
    keeper.add("B01", n=30, instar=2)
    keeper.stand("2026-05-02", 18 * 60)
    keeper.log("B01", "fed")
    keeper.log("B01", "died", n=2)
    keeper.log("B01", "count", n=27)
    keeper.stand("2026-05-03")
    view = show_box.box_view(keeper.services, keeper.id("B01"))
    facts = dict(view.facts)
    assert facts["Cohort"] == "2026 A"
    assert facts["Fed"] == "yesterday 18:00"
    assert facts["Counted"] == "27, yesterday 18:00"
    assert facts["Since"] == "20 Apr"
    assert facts["Dead"] == "2 larvae"
    assert view.who == "27 larvae, instar 2"
    assert view.is_open


def test_every_act_of_a_box_fits_who_lives_there(demo: Keeper) -> None:
    vocabulary = demo.services.catalog.vocabulary
    for label in ("B03", "B12"):
        view = show_box.box_view(demo.services, demo.id(label))
        for act in view.acts:
            if act.kind:
                stages = vocabulary.kinds[act.kind].stages
                assert not stages or "larva" in stages, act.kind
        assert {"fed", "count", "died", "moulted", "rest_began"} <= {act.kind for act in view.acts}
        assert "emerged" not in {act.kind for act in view.acts}


def test_an_unknown_box_is_refused(keeper: Keeper) -> None:
    with pytest.raises(EntryError, match="no such box"):
        show_box.box_view(keeper.services, "nothing")
