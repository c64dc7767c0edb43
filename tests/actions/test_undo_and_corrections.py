"""Undo a hundred levels deep, corrections, and what both leave visible."""

from __future__ import annotations

import random

import pytest

from boxside.actions import correct_event, show_box, void_event
from boxside.core.values.errors import EntryError
from boxside.store import reading, saving
from boxside.store.rebuild import rebuild, state_digest
from tests.actions.keeping import Keeper


def random_act(keeper: Keeper, chance: random.Random) -> None:
    """Do one of many things at one of a few boxes; what is refused is left."""
    labels = [box.label for box in reading.open_boxes(keeper.services.store)]
    label, other = chance.choice(labels), chance.choice(labels)
    n = keeper.n(label)
    acts = [
        lambda: keeper.log(label, "misted"),
        lambda: keeper.log(label, "fed", amount=chance.randrange(4)),
        lambda: keeper.log(label, "count", n=max(0, n - chance.randrange(3)), complete=chance.random() < 0.7),
        lambda: keeper.log(label, "died", n=1 + chance.randrange(2)),
        lambda: keeper.log(label, "transfer", to_box=keeper.id(other), n=1 + n // 3),
        lambda: keeper.log(label, "moulted", n=1 + n // 2),
        lambda: keeper.log(label, "later", task="feed", days=2),
        lambda: keeper.log(label, "box_changed", substrate=chance.choice(["paper", "cloth"])),
        lambda: keeper.log(label, "fed", at_ms=keeper.services.clock.now_ms() - chance.randrange(5 * 86_400_000)),
        lambda: keeper.add(f"N{len(labels)}", n=5 + chance.randrange(9), instar=1),
    ]
    chance.choice(acts)()


def test_a_hundred_levels_of_undo_across_restarts_give_back_every_earlier_state(keeper: Keeper) -> None:
    chance = random.Random("a hundred acts")
    keeper.add("B01", n=30, instar=1)
    keeper.add("B02", n=25, instar=3)
    keeper.add("B03", stage="")
    states = [keeper.standing()]
    while len(states) <= 100:
        keeper.wait(chance.choice((0, 1, 40, 900)))
        try:
            random_act(keeper, chance)
        except EntryError:
            continue
        states.append(keeper.standing())
        if len(states) % 20 == 0:
            keeper.restart()
    assert len(set(states)) > 95, "nearly every act changed something"
    for level, state in enumerate(reversed(states[:-1]), start=1):
        if level % 25 == 0:
            keeper.restart()
        keeper.wait(1)
        void_event.undo_last(keeper.services)
        assert keeper.standing() == state, f"level {level}"
    assert keeper.totals().holds


def test_the_state_after_undo_is_also_what_a_rebuild_finds(demo: Keeper) -> None:
    before = demo.standing()
    for _ in range(12):
        void_event.undo_last(demo.services)
    assert demo.standing() != before
    digest = state_digest(demo.services.store)
    with saving(demo.services.store):
        rebuild(demo.services.store)
    assert state_digest(demo.services.store) == digest


def test_an_entry_is_taken_back_once_only(keeper: Keeper) -> None:
    keeper.add("B01")
    saved = keeper.log("B01", "fed")
    void_event.void_event(keeper.services, saved.event_id)
    before = keeper.kept()
    with pytest.raises(EntryError, match="taken back before"):
        void_event.void_event(keeper.services, saved.event_id)
    with pytest.raises(EntryError, match="no such entry"):
        void_event.void_event(keeper.services, "nothing")
    assert keeper.kept() == before


def test_taking_back_says_what(keeper: Keeper) -> None:
    keeper.add("B01")
    back = void_event.void_event(keeper.services, keeper.log("B01", "fed").event_id)
    assert back.notice is not None
    assert back.notice.what == "Taken back: fed."
    assert back.undo is None


def test_a_box_that_was_used_is_not_unmade(keeper: Keeper) -> None:
    made = keeper.add("B01", n=30)
    fed = keeper.log("B01", "fed")
    before = keeper.kept()
    with pytest.raises(EntryError, match="later entries"):
        void_event.void_event(keeper.services, made.event_id)
    assert keeper.kept() == before
    void_event.void_event(keeper.services, fed.event_id)
    void_event.void_event(keeper.services, made.event_id)
    assert reading.open_boxes(keeper.services.store) == []
    assert reading.entities(keeper.services.store, "cohort") == []
    assert keeper.totals().came_in == 0


def test_a_cohort_that_lives_elsewhere_too_outlives_the_undo_of_a_box(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    (cohort,) = reading.entities(keeper.services.store, "cohort")
    keeper.add("B02", n=12, cohort_id=cohort.id)
    void_event.undo_last(keeper.services)
    assert [box.label for box in reading.open_boxes(keeper.services.store)] == ["B01"]
    assert reading.entities(keeper.services.store, "cohort") == [cohort]
    assert keeper.totals().present == 30


def test_what_is_logged_after_a_new_box_is_taken_back_alone(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    keeper.log("B01", "last_fed", visit=keeper.round(box_id=keeper.id("B01")).visit, basis="today")
    assert void_event.undo_last(keeper.services).kind == "last_fed"
    assert keeper.n("B01") == 30
    assert void_event.undo_last(keeper.services).kind == "box_made"


def test_a_correction_takes_the_place_of_the_old_entry(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    counted = keeper.log("B01", "count", n=12)
    assert (keeper.n("B01"), keeper.totals().unaccounted) == (12, 18)
    keeper.wait(5)
    correct_event.correct_event(keeper.services, counted.event_id, {"n": 21})
    assert (keeper.n("B01"), keeper.totals().unaccounted) == (21, 9)
    rows = show_box.box_view(keeper.services, keeper.id("B01")).history
    assert [(row.label, row.detail, row.struck) for row in rows[:2]] == [
        ("Counted", "21 animals, complete", ""),
        ("Counted", "12 animals, complete", "corrected"),
    ]
    assert [row.can_correct for row in rows[:2]] == [True, False]


def test_taking_a_correction_back_lets_the_old_entry_stand_again(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    counted = keeper.log("B01", "count", n=12)
    before = keeper.standing()
    keeper.wait(5)
    correct_event.correct_event(keeper.services, counted.event_id, {"n": 21})
    void_event.undo_last(keeper.services)
    assert keeper.standing() == before


def test_correcting_the_time_moves_the_entry_and_its_due_day(keeper: Keeper) -> None:
    keeper.stand("2026-04-01")
    keeper.add("B01", n=30, instar=1)
    keeper.stand("2026-05-03")
    fed = keeper.log("B01", "fed")
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-10"
    correct_event.correct_event(keeper.services, fed.event_id, {}, at_ms=keeper.at("2026-05-01"))
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-08"


def test_a_correction_keeps_who_did_it_and_the_note_unless_another_is_given(keeper: Keeper) -> None:
    from boxside.actions import log_event
    from boxside.core.values.event import Draft

    keeper.add("B01", n=30)
    draft = Draft("fed", "box", keeper.id("B01"), {"amount": 2}, by="M.", note="small ones")
    first = log_event.log_event(keeper.services, draft)
    second = correct_event.correct_event(keeper.services, first.event_id, {"amount": 3})
    third = correct_event.correct_event(keeper.services, second.event_id, {"amount": 4}, note="large ones")
    event = reading.event(keeper.services.store, third.event_id)
    assert event is not None
    assert (event.fields, event.by, event.note) == ({"amount": 4}, "M.", "large ones")


@pytest.mark.parametrize(
    ("kind", "fields", "wrong", "why"),
    [
        ("died", {"n": 1}, {"n": 31}, "B01 holds 30 animals"),
        ("died", {"n": 1}, {"n": -1}, "-1 is not between 1"),
        ("died", {"n": 1}, {"n": "two"}, "'two' is not a whole number"),
        ("fed", {}, {"snails": 2}, "has no field 'snails'"),
        ("count", {"n": 30}, {}, "needs 'how many'"),
        ("box_changed", {"label": "B07"}, {"label": "B02"}, "already a box B02"),
    ],
)
def test_a_correction_that_cannot_be_is_refused_and_changes_nothing(
    keeper: Keeper, kind: str, fields: dict[str, object], wrong: dict[str, object], why: str
) -> None:
    keeper.add("B01", n=30)
    keeper.add("B02", stage="")
    entry = keeper.log("B01", kind, **fields)
    before = keeper.kept()
    with pytest.raises(EntryError, match=why):
        correct_event.correct_event(keeper.services, entry.event_id, wrong)  # type: ignore[arg-type]
    assert keeper.kept() == before


def test_a_correction_may_use_what_the_old_entry_took(keeper: Keeper) -> None:
    """30 animals, 20 booked as dead by mistake: correcting that to 25 must not look at the 10 that are left."""
    keeper.add("B01", n=30)
    dead = keeper.log("B01", "died", n=20)
    correct_event.correct_event(keeper.services, dead.event_id, {"n": 25})
    assert keeper.n("B01") == 5


def test_a_correction_into_the_future_or_of_a_struck_entry_is_refused(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    fed = keeper.log("B01", "fed")
    with pytest.raises(EntryError, match="in the future"):
        correct_event.correct_event(keeper.services, fed.event_id, {}, at_ms=keeper.at("2026-05-04"))
    void_event.void_event(keeper.services, fed.event_id)
    with pytest.raises(EntryError, match="corrected or taken back before"):
        correct_event.correct_event(keeper.services, fed.event_id, {})
    with pytest.raises(EntryError, match="no such entry"):
        correct_event.correct_event(keeper.services, "nothing", {})


def test_nothing_is_done_at_a_box_before_the_day_it_was_made(keeper: Keeper) -> None:
    keeper.stand("2026-05-01")
    keeper.add("B01", n=30)
    keeper.stand("2026-05-03")
    before = keeper.kept()
    with pytest.raises(EntryError, match="B01 was made on 2026-05-01, and 'misted' is dated 2026-04-30"):
        keeper.log("B01", "misted", at_ms=keeper.at("2026-04-30"))
    assert keeper.kept() == before
    keeper.log("B01", "misted", at_ms=keeper.at("2026-05-01", 1))
    misted = keeper.log("B01", "misted")
    with pytest.raises(EntryError, match="was made on 2026-05-01"):
        correct_event.correct_event(keeper.services, misted.event_id, {}, at_ms=keeper.at("2026-04-29"))


def test_a_refusal_says_by_its_type_whether_a_correction_would_do(keeper: Keeper) -> None:
    from boxside.app.desk import notice_of
    from boxside.core.values.errors import CorrectableError

    keeper.add("B01", n=3)
    with pytest.raises(CorrectableError) as many:
        keeper.log("B01", "died", n=4)
    assert notice_of(many.value).correctable
    with pytest.raises(EntryError) as unknown:
        keeper.log("B01", "died", n=-1)
    assert not notice_of(unknown.value).correctable


def test_the_history_says_when_each_entry_happened(keeper: Keeper) -> None:
    keeper.stand("2026-05-01")
    keeper.add("B01", n=30)
    keeper.stand("2026-05-03")
    keeper.log("B01", "misted", at_ms=keeper.at("2026-05-02", 17))
    newest = show_box.box_view(keeper.services, keeper.id("B01")).history[0]
    assert (newest.kind, newest.at_ms) == ("misted", keeper.at("2026-05-02", 17))
