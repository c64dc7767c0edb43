"""The coming weeks: visits by day, what cannot be foretold, winter rest, and that a run repeats."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from boxside.actions import ahead
from boxside.actions.smoothing import moved_text, put_off, smooth_view
from boxside.actions.visits import calendar_of
from boxside.core.development import Started, expected_date, prior_need, steady_climate
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand, Outlook
from tests.actions.keeping import Keeper

DAY = date(2026, 5, 3)


def on(days: int) -> date:
    return DAY + timedelta(days=days)


def tasks_of(keeper: Keeper, label: str, task: str) -> list[int]:
    """On which of the coming days (from today) a task comes at a box, within the days that name boxes."""
    view = ahead.ahead_view(keeper.services)
    days = [day for week in view.weeks for day in week.days]
    return [(d.on - DAY).days for d in days for v in d.visits if v.label == label and task in v.tasks]


def test_a_meal_comes_again_after_its_interval_and_leftovers_go_out_after_it(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=1, fed="today")
    assert tasks_of(keeper, "B01", "Feed") == [7]
    keeper.stand(on(0))
    keeper.log("B01", "fed", prey="garden snail")
    assert tasks_of(keeper, "B01", "Feed") == [7]
    assert tasks_of(keeper, "B01", "Take the meal out") == [3, 10]
    view = ahead.ahead_view(keeper.services, to_on=on(30))
    counted = {(day.on - DAY).days for week in view.weeks for day in week.days if day.n_boxes}
    assert {7, 14, 21, 28} <= counted
    sure = [v.sure for week in view.weeks for d in week.days for v in d.visits if "Feed" in v.tasks]
    assert sure == [True]


def test_days_sum_to_the_visits_of_each_week(demo: Keeper) -> None:
    view = ahead.ahead_view(demo.services)
    assert [len(week.days) for week in view.weeks] == [7, 7, 7, 7]
    for week in view.weeks[:2]:
        assert all(day.n_boxes == len(day.visits) == len({v.box_id for v in day.visits}) for day in week.days)
        assert week.n_visits == sum(day.n_boxes for day in week.days)
    assert view.weeks[0].days[0].n_boxes >= len(demo.due_labels())
    heavy = [day.n_boxes for week in view.weeks for day in week.days if day.heavy]
    rest = [day.n_boxes for week in view.weeks for day in week.days if not day.heavy]
    assert not heavy or min(heavy) > max(rest)


def test_the_same_log_gives_the_same_weeks_and_unrelated_entries_do_not_stir_them(keeper: Keeper) -> None:
    keeper.add("B01", "egg", 60)
    keeper.add("B02", "larva", 20)
    first = ahead.ahead_view(keeper.services).expected
    assert ahead.ahead_view(keeper.services).expected == first
    keeper.log("B02", "misted")
    assert ahead.ahead_view(keeper.services).expected == first
    keeper.restart()
    assert ahead.ahead_view(keeper.services).expected == first


def test_the_dates_are_those_of_the_core(keeper: Keeper) -> None:
    keeper.add("B01", "egg", 60)
    (clutch,) = ahead.ahead_view(keeper.services, to_on=on(60)).expected
    alone = expected_date(
        "x",
        Started(DAY, DAY),
        prior_need(DaysBand(25, 40)),
        steady_climate(20, 1.5),
        DAY,
        np.random.default_rng(7),
        20_000,
    )
    pairs = ((clutch.earliest, alone.earliest), (clutch.likely, alone.likely), (clutch.latest, alone.latest))
    assert all(abs((mine - other).days) <= 1 for mine, other in pairs if mine and other)
    assert all(mine and other for mine, other in pairs)


def test_grown_larvae_of_unknown_age_are_named_and_not_guessed_at(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 9, instar=6)
    keeper.add("B02", "larva", 30, instar=2)
    view = ahead.ahead_view(keeper.services)
    assert view.expected == ()
    assert [("B01" in text, "B02" in text) for text in view.unknown] == [(True, False)]


def test_larvae_that_came_as_hatchlings_pupate_by_age_but_only_once_they_are_near_grown(keeper: Keeper) -> None:
    keeper.stand(DAY - timedelta(days=700))
    keeper.add("B01", "larva", 30, instar=1)
    keeper.stand(DAY)
    assert ahead.ahead_view(keeper.services).expected == ()
    for instar in range(2, 6):
        keeper.log("B01", "moulted", to_instar=instar)
    (grown,) = [one for one in ahead.ahead_view(keeper.services, to_on=on(399)).expected if one.what == "pupate"]
    assert grown.earliest is not None
    assert grown.earliest >= DAY
    assert grown.stage == "larva"


def test_a_rest_moves_pupation_behind_the_waking_and_meals_begin_after_it(keeper: Keeper) -> None:
    keeper.stand(date(2026, 11, 20) - timedelta(days=800))
    keeper.add("B01", "larva", 30, instar=1)
    keeper.stand(date(2026, 11, 20))
    for instar in range(2, 7):
        keeper.log("B01", "moulted", to_instar=instar)
    keeper.log("B01", "rest_began", until="2027-03-01")
    view = ahead.ahead_view(keeper.services, to_on=date(2027, 4, 30))
    # 0.4 prey a larva of the last instar, by the profile.
    assert view.resting == (
        "In winter rest until 1 Mar 2027: B01. Waking 30 larvae costs about 12 prey for the first meals from "
        "3 Mar 2027, then about 1 more meal a week.",
    )
    found = {one.what: one for one in view.expected}
    waking = date(2027, 3, 1)
    assert found["wake"].likely == waking
    assert found["wake"].headline == "B01 wakes from the winter rest"
    pupation = found["pupate"]
    assert pupation.earliest is not None
    # The species pupates from April on.
    assert pupation.earliest == date(2027, 4, 1)
    assert {"winter_rest", "season"} <= {reason.rule for reason in pupation.reasons}
    visits = {day.on: day.n_boxes for week in view.weeks for day in week.days}
    # The first meal comes two days after the waking, the next ones after the interval of grown larvae.
    assert visits[waking + timedelta(days=2)] == 1


def test_last_winters_rest_comes_again(keeper: Keeper) -> None:
    keeper.stand("2025-11-28")
    keeper.add("B01", "larva", 30, instar=3, fed="today")
    keeper.log("B01", "rest_began", until="2026-03-05")
    keeper.stand("2026-03-05")
    keeper.log("B01", "rest_ended")
    keeper.stand("2026-11-10")
    keeper.log("B01", "fed")
    now = ahead.outlook_of(keeper.services)
    (rhythm,) = now.rhythms.values()
    assert (rhythm.rests[0].from_on, rhythm.rests[0].until_on) == (date(2026, 11, 28), date(2027, 3, 5))
    today, last = date(2026, 11, 10), date(2027, 4, 1)
    calendar = calendar_of(now.dues, now.rhythms, now.boxes, (today, today, last), most_named=400)
    fed = [
        today + timedelta(days=n)
        for n, held in enumerate(calendar.named)
        if any(turn.task == "feed" for turns in held.values() for turn in turns)
    ]
    assert fed[0] == date(2026, 11, 24)
    assert not [day for day in fed if date(2026, 11, 28) <= day < date(2027, 3, 5)]
    assert date(2027, 3, 7) in fed


def test_what_nobody_looked_at_does_not_slip_away(keeper: Keeper) -> None:
    keeper.add("B01", "egg", 60)
    keeper.stand(on(90))
    (clutch,) = ahead.ahead_view(keeper.services).expected
    assert clutch.outlook is Outlook.OVERDUE
    assert clutch.latest is not None
    assert clutch.latest < on(90)
    assert clutch.reasons[-1].text == "Nobody has looked since 2026-05-03, and it should have happened by now."


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [(5, 1, "wrong way round"), (-1, 5, "is past"), (0, 500, "more than 400 days")],
)
def test_spans_that_make_no_sense_are_refused(keeper: Keeper, first: int, last: int, said: str) -> None:
    with pytest.raises(EntryError, match=said):
        ahead.ahead_view(keeper.services, on(first), on(last))


def test_a_heavy_day_is_spread_and_what_moves_later_is_put_off(keeper: Keeper) -> None:
    for n in range(8):
        keeper.add(f"B{n:02d}", "larva", 30, instar=1, fed="today")
    view = smooth_view(keeper.services)
    counts = {day: (before, after) for day, before, after in view.days}
    assert counts[on(7)][0] == 8
    assert sum(before for before, _ in counts.values()) == sum(after for _, after in counts.values())
    assert max(after for _, after in counts.values()) <= 2
    later = [move for move in view.moved if move.days > 0]
    assert later
    assert all("later" in moved_text(move) for move in later)
    assert len(put_off(keeper.services, view.moved)) == len(later)
    for move in later:
        assert keeper.dues(move.label)["feed"].on == move.to_on
    with pytest.raises(EntryError):
        put_off(keeper.services, ())
