from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.planning import Chore, Resting, away_plan, resting_rows, wakings
from boxside.core.values.due import Due
from boxside.core.values.errors import EntryError

LEAVE = date(2026, 8, 1)
quick = settings(deadline=None, max_examples=150)


def day(n: int) -> date:
    return LEAVE + timedelta(days=n)


def chore(name="B01", on=3, early=4, late=2, interval=14, task="feed", urgency=0) -> Chore:
    return Chore(Due(name, task, day(on - early), day(on), day(on + late), urgency=urgency), interval)


chores = st.lists(
    st.builds(
        chore,
        name=st.integers(1, 40).map(lambda n: f"B{n:02d}"),
        on=st.integers(-6, 30),
        early=st.integers(0, 6),
        late=st.integers(0, 6),
        interval=st.integers(1, 40),
        urgency=st.integers(0, 3),
    ),
    max_size=12,
)


def test_a_meal_due_on_the_trip_is_given_on_the_last_day():
    plan = away_plan([chore(on=3)], LEAVE, day(10))
    assert [(task.box, task.on) for task in plan.before] == [("B01", LEAVE)]
    assert plan.unattended == ()
    assert plan.helper == ()
    # Fed on the last day, due after 14 days, late after two more.
    assert plan.safe_until == day(16)
    assert plan.limiting == ("B01",)


def test_what_lasts_until_the_return_is_left_alone():
    could_be_fed = chore(on=12, early=12)
    assert away_plan([could_be_fed], LEAVE, day(10)).before == ()
    assert len(away_plan([could_be_fed], LEAVE, day(20)).before) == 1


def test_hatchlings_need_a_helper_on_a_long_trip():
    plan = away_plan([chore(on=0, early=2, late=1, interval=7), chore("B02", interval=28)], LEAVE, day(22))
    assert [(row.box, row.late_from, row.late_days) for row in plan.unattended] == [("B01", day(9), 14)]
    assert [(task.box, (task.on - LEAVE).days) for task in plan.helper] == [("B01", 8), ("B01", 16)]
    assert plan.safe_until == day(8)
    assert "Late from" in plan.helper[0].why


def test_a_meal_that_cannot_be_given_early_falls_to_the_helper():
    plan = away_plan([chore(on=5, early=1, late=1)], LEAVE, day(10))
    assert plan.before == ()
    assert [(task.on - LEAVE).days for task in plan.helper] == [6]


def test_one_visit_serves_all_boxes_that_may_be_fed_then():
    many = [chore(f"B{i:02d}", on=0, early=3, late=2, interval=7 + i % 3) for i in range(6)]
    plan = away_plan(many, LEAVE, day(15))
    assert len(plan.helper_days) == 1
    assert len(plan.helper) == 6


def test_young_come_first_in_the_lists():
    plan = away_plan([chore("B01"), chore("B02", urgency=3)], LEAVE, day(10))
    assert [task.box for task in plan.before] == ["B02", "B01"]


def test_nothing_due_is_safe_for_ever():
    plan = away_plan([], LEAVE, day(10))
    assert plan.safe_until is None
    assert plan.limiting == ()


@quick
@given(chores, st.integers(1, 45))
def test_a_helper_leaves_nothing_late_and_is_asked_only_when_needed(tasks, away):
    back = day(away)
    plan = away_plan(tasks, LEAVE, back)
    assert all(LEAVE < task.on < back for task in plan.helper)
    if tasks:
        assert (plan.unattended == ()) == (back <= plan.safe_until)
        assert plan.safe_until > LEAVE
    assert (plan.helper == ()) == (plan.unattended == ())


@quick
@given(
    st.lists(
        st.builds(
            chore,
            on=st.integers(-6, 30),
            early=st.integers(0, 6),
            late=st.integers(0, 6),
            interval=st.integers(1, 40),
        ),
        min_size=1,
        max_size=6,
    ),
    st.integers(1, 45),
)
def test_carrying_the_plan_out_keeps_every_box_in_time(tasks, away):
    named = [
        Chore(Due(f"B{i:02d}", "feed", c.due.earliest, c.due.on, c.due.latest), c.interval_days)
        for i, c in enumerate(tasks)
    ]
    back = day(away)
    plan = away_plan(named, LEAVE, back)
    for item in named:
        done = sorted(t.on for t in (*plan.before, *plan.helper) if t.box == item.due.box)
        latest = item.due.latest
        for on in done:
            # Late before the last day at home already is the keeper's doing, not the plan's.
            assert on <= max(latest, LEAVE)
            latest = on + timedelta(days=item.interval_days + item.grace_days)
        assert latest >= back or latest < LEAVE


@quick
@given(chores, st.integers(1, 44))
def test_a_longer_trip_never_leaves_fewer_boxes_unattended(tasks, away):
    short, long = away_plan(tasks, LEAVE, day(away)), away_plan(tasks, LEAVE, day(away + 1))
    assert len(long.unattended) >= len(short.unattended)
    assert len(long.before) >= len(short.before)
    assert long.safe_until == short.safe_until


def test_dates_that_mean_nothing_are_refused():
    with pytest.raises(EntryError, match="after the last day"):
        away_plan([], LEAVE, LEAVE)
    with pytest.raises(EntryError, match="no interval"):
        away_plan([chore(interval=0)], LEAVE, day(3))


def rest(name="B01", until=100, larvae=20, helping=10.0, interval=14, first=2) -> Resting:
    return Resting(name, day(0), day(until), larvae, "snails", helping, interval, first)


def test_who_rests_until_when():
    rows = resting_rows([rest("B02", 120), rest("B01", 90)], day(100))
    assert [(row.box, row.rested_days, row.left_days) for row in rows] == [
        ("B01", 100, -10),
        ("B02", 100, 20),
    ]
    assert resting_rows([rest()], day(-1)) == ()


def test_what_waking_costs():
    first, second = wakings([rest("B01", 90), rest("B03", 120), rest("B02", 90, 5, 4.0, 7, 1)])
    assert (first.on, first.boxes, first.n_larvae) == (day(90), ("B01", "B02"), 25)
    assert first.first_meals_on == day(91)
    assert [(figure.unit, figure.value) for figure in first.prey] == [("snails", 14.0)]
    assert first.visits_a_week.value == pytest.approx(0.5 + 1.0)
    assert second.boxes == ("B03",)


def test_a_rest_that_ends_before_it_begins_is_refused():
    with pytest.raises(EntryError, match="ends before it begins"):
        wakings([rest(until=-1)])
