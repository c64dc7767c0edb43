"""The round: which box comes first, what passing one by does, and what makes one visit."""

from __future__ import annotations

from boxside.actions import list_due
from boxside.core.care import pressing
from boxside.store import reading
from tests.actions.keeping import Keeper


def shelf_of_ages(keeper: Keeper) -> None:
    """Old, young and middle larvae, all last fed long enough ago to be due on 3 May and not late."""
    keeper.add("OLD", n=10, instar=5, fed="about", fed_days=26)
    keeper.add("YOUNG", n=10, instar=1, fed="about", fed_days=8)
    keeper.add("MIDDLE", n=10, instar=3, fed="about", fed_days=15)


def test_the_young_come_first(keeper: Keeper) -> None:
    shelf_of_ages(keeper)
    assert keeper.due_labels() == ["YOUNG", "MIDDLE", "OLD"]


def test_what_is_late_comes_before_what_is_young(keeper: Keeper) -> None:
    shelf_of_ages(keeper)
    keeper.add("LATE", n=10, instar=5, fed="about", fed_days=40)
    assert keeper.due_labels() == ["LATE", "YOUNG", "MIDDLE", "OLD"]


def test_the_round_of_the_colony_is_in_the_order_of_pressing(demo: Keeper) -> None:
    day = list_due.today(demo.services)
    firsts = [tasks[0] for _, tasks in list_due.due_today(demo.services)]
    assert len(firsts) > 5
    assert firsts == sorted(firsts, key=lambda due: pressing(due, day))
    for _, tasks in list_due.due_today(demo.services):
        assert tasks == sorted(tasks, key=lambda due: pressing(due, day))


def test_a_box_that_is_passed_by_stays_due_and_the_next_one_comes(keeper: Keeper) -> None:
    shelf_of_ages(keeper)
    first = keeper.round()
    assert (first.label, first.place, first.total) == ("YOUNG", 1, 3)
    second = keeper.round(passed=(first.box_id,))
    assert (second.label, second.place, second.total) == ("MIDDLE", 2, 3)
    third = keeper.round(passed=(first.box_id, second.box_id))
    assert (third.label, third.place, third.total) == ("OLD", 3, 3)
    end = keeper.round(passed=(first.box_id, second.box_id, third.box_id))
    assert (end.box_id, end.headline) == ("", "That was the last box.")
    assert "they stay due" in end.why
    assert keeper.due_labels() == ["YOUNG", "MIDDLE", "OLD"]


def test_the_place_in_the_round_goes_on_while_boxes_get_done(keeper: Keeper) -> None:
    shelf_of_ages(keeper)
    places = []
    passed: tuple[str, ...] = ()
    while (view := keeper.round(passed)).box_id:
        places.append((view.label, view.place, view.total))
        keeper.log(view.label, "fed", visit=view.visit)
        keeper.log(view.label, "looked", visit=view.visit)
        passed = (*passed, view.box_id)
    assert places == [("YOUNG", 1, 3), ("MIDDLE", 2, 3), ("OLD", 3, 3)]
    assert keeper.round().headline == "Nothing is due today."
    assert keeper.round().why == "Next: YOUNG and 2 more on 6 May: take the meal out."


def test_an_empty_shelf_says_what_to_do(keeper: Keeper) -> None:
    view = keeper.round()
    assert (view.box_id, view.headline) == ("", "Nothing is due.")
    assert "Add boxes on the shelf" in view.why


def test_the_view_says_who_why_and_what_can_be_done(keeper: Keeper) -> None:
    shelf_of_ages(keeper)
    view = keeper.round()
    assert (view.headline, view.who) == ("Feed", "About 10 larvae, instar 1")
    assert view.why == "Due since Saturday: last fed about 25 April; young larvae eat about every week."
    assert [act.kind or act.command for act in view.main] == ["fed", "look", "count", "next"]
    assert view.main[0].asks == ()
    assert {sign.label for sign in view.signs} >= {"All well", "Searching", "Plump", "Too dry"}
    assert any("gloves" in caution for caution in view.cautions)


def test_an_act_that_closes_what_is_due_is_always_offered(demo: Keeper) -> None:
    vocabulary = demo.services.catalog.vocabulary
    seen = set()
    for box, tasks in list_due.due_today(demo.services):
        view = demo.round(box_id=box)
        offered = {act.kind for act in (*view.main, *view.more)}
        for due in tasks:
            closing = {kind.name for kind in vocabulary.kinds.values() if due.task in kind.closes}
            seen.add(due.task)
            assert offered & closing, (view.label, due.task)
    assert len(seen) >= 4


def test_several_acts_at_one_stop_make_one_visit(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    keeper.wait(60)
    first = keeper.round()
    keeper.log("B01", "misted", visit=first.visit)
    keeper.wait(4)
    second = keeper.round()
    assert second.visit == first.visit
    assert [act.kind for act in second.more if act.done] == ["misted"]
    keeper.log("B01", "died", n=1, visit=second.visit)
    keeper.log("B01", "fed", visit=second.visit)
    box = keeper.id("B01")
    events = [event for event, _ in reading.history(keeper.services.store, "box", box, 3)]
    assert {event.kind for event in events} == {"misted", "died", "fed"}
    assert {event.visit for event in events} == {first.visit}


def test_a_visit_ends_after_half_an_hour(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    keeper.wait(60)
    first = keeper.round().visit
    keeper.log("B01", "misted", visit=first)
    keeper.wait(29)
    assert keeper.round().visit == first
    keeper.wait(1)
    assert keeper.round().visit != first


def test_visits_at_two_boxes_are_two(keeper: Keeper) -> None:
    shelf_of_ages(keeper)
    keeper.wait(60)
    young = keeper.round()
    keeper.log("YOUNG", "fed", visit=young.visit)
    middle = keeper.round(passed=(young.box_id,))
    assert middle.label == "MIDDLE"
    assert middle.visit != young.visit


def test_what_was_taken_back_is_no_longer_marked_as_done(keeper: Keeper) -> None:
    from boxside.actions import void_event

    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    keeper.wait(60)
    saved = keeper.log("B01", "misted", visit=keeper.round().visit)
    assert saved.view is not None
    assert "misted" in {act.kind for act in saved.view.more if act.done}
    void_event.void_event(keeper.services, saved.event_id)
    assert "misted" not in {act.kind for act in keeper.round().more if act.done}


def test_box_done_comes_with_the_last_due_task_and_only_then(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    keeper.log("B01", "dried_out")
    assert {line.task for line in keeper.round().due} == {"feed", "moisture"}
    assert not keeper.log("B01", "fed").box_done
    done = keeper.log("B01", "misted")
    assert done.box_done
    assert done.view is not None
    assert (done.view.headline, done.view.due) == ("Nothing due", ())
    assert not keeper.log("B01", "misted").box_done, "it was done before"


def test_saving_gives_back_the_undo_and_the_box(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    saved = keeper.log("B01", "fed")
    assert saved.undo is not None
    assert (saved.undo.event_id, saved.undo.label) == (saved.event_id, "Fed")
    assert saved.view is not None
    assert saved.view.label == "B01"


def test_later_puts_one_task_off_and_says_so(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    keeper.log("B01", "later", task="feed", days=3)
    due = keeper.dues("B01")["feed"]
    assert due.on.isoformat() == "2026-05-06"
    assert due.reasons[-1].text == "Put off on 3 May for 3 days."
    assert keeper.due_labels() == []


def test_the_clock_may_be_set_back_a_little_without_upsetting_the_order(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1)
    keeper.log("B01", "count", n=9)
    keeper.wait(-0.5)
    keeper.log("B01", "died", n=2)
    assert keeper.n("B01") == 7


def test_acts_within_one_millisecond_keep_their_order(keeper: Keeper) -> None:
    """The fake clock stands still; each entry still stands behind the one logged before it."""
    keeper.add("B01", n=10, instar=1)
    keeper.add("B02", stage="")
    keeper.log("B01", "count", n=9)
    keeper.log("B01", "transfer", to_box=keeper.id("B02"), n=4)
    keeper.log("B02", "died", n=1)
    keeper.log("B02", "count", n=3)
    assert (keeper.n("B01"), keeper.n("B02")) == (5, 3)
    assert keeper.totals().unaccounted == 1
