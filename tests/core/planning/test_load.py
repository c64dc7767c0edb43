from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.planning import load_by_day, smoothed_load
from boxside.core.values.due import Due
from boxside.core.values.errors import EntryError

TODAY = date(2026, 5, 1)
N_DAYS = 14


def due(name: str, on: int, early: int = 0, late: int = 0, urgency: int = 0) -> Due:
    days = [TODAY + timedelta(days=d) for d in (on - early, on, on + late)]
    return Due(name, "feed", *days, urgency=urgency)


dues = st.lists(
    st.builds(
        due,
        name=st.integers(1, 99).map(lambda n: f"B{n:02d}"),
        on=st.integers(-5, 20),
        early=st.integers(0, 4),
        late=st.integers(0, 4),
        urgency=st.integers(0, 3),
    ),
    max_size=25,
)


def test_boxes_by_day_with_the_overdue_on_the_first():
    days = load_by_day([due("B01", -3), due("B02", 0, urgency=5), due("B03", 4), due("B04", 40)], TODAY, N_DAYS)
    assert [[task.box for task in day.tasks] for day in days[:5]] == [["B02", "B01"], [], [], [], ["B03"]]
    assert sum(len(day.tasks) for day in days) == 3


def test_a_heavy_day_is_spread_within_the_windows():
    heavy = [due(f"B{i:02d}", 5, early=1, late=1) for i in range(6)]
    smooth = smoothed_load(heavy, TODAY, N_DAYS)
    assert [len(day.tasks) for day in smooth.days[3:8]] == [0, 2, 2, 2, 0]
    assert len(smooth.moved) == 4


def test_a_chain_of_moves_relieves_a_day_that_cannot_reach_a_free_one():
    tasks = [due("B01", 2, late=1), due("B02", 2, late=1), due("B03", 2), due("B04", 3, late=1)]
    smooth = smoothed_load(tasks, TODAY, N_DAYS)
    assert sorted(len(day.tasks) for day in smooth.days)[-3:] == [1, 1, 2]


def test_days_below_the_bearable_are_left_alone():
    pair = [due("B01", 5, 2, 2), due("B02", 5, 2, 2)]
    assert smoothed_load(pair, TODAY, N_DAYS, heavy_from=2).moved == ()
    assert len(smoothed_load(pair, TODAY, N_DAYS).moved) == 1


@settings(deadline=None, max_examples=120)
@given(dues, st.integers(0, 4))
def test_smoothing_keeps_totals_and_windows_and_is_never_less_even(tasks, heavy_from):
    before = load_by_day(tasks, TODAY, N_DAYS)
    smooth = smoothed_load(tasks, TODAY, N_DAYS, heavy_from)
    assert sorted(map(repr, (t for day in before for t in day.tasks))) == sorted(
        map(repr, (t for day in smooth.days for t in day.tasks))
    )
    for day in smooth.days:
        for task in day.tasks:
            if task.on <= TODAY:
                assert day.on == TODAY
            else:
                assert task.earliest <= day.on <= task.latest
    assert sum(len(d.tasks) ** 2 for d in smooth.days) <= sum(len(d.tasks) ** 2 for d in before)
    assert max(len(d.tasks) for d in smooth.days) <= max(len(d.tasks) for d in before)
    for move in smooth.moved:
        assert move.to_on != move.due.on


def test_windows_the_wrong_way_round_are_refused():
    bad = Due("B01", "feed", TODAY + timedelta(days=3), TODAY, TODAY)
    with pytest.raises(EntryError, match="Nothing was moved"):
        smoothed_load([bad], TODAY, N_DAYS)
