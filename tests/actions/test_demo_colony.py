"""The invented colony holds together on every day of the year: no animal too many, no absurd reason."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta

import pytest

from boxside.actions import demo_colony, list_due, log_event, start
from boxside.actions.demo_story import story
from boxside.core.care import why
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.core.values.stages import Stage
from boxside.store import reading
from tests.actions.keeping import Keeper

# One day in each turn of the story's year, and days that calendars are odd on.
DAYS = ["2026-01-01", "2028-02-29", "2026-03-07", "2026-06-20", "2026-07-29", "2026-08-20", "2026-10-09"]


@pytest.mark.parametrize("day", DAYS)
def test_the_colony_is_believable(make_keeper: Callable[..., Keeper], day: str) -> None:
    keeper = make_keeper(day=day)
    demo_colony.fill(keeper.services)
    on = date.fromisoformat(day)
    assert keeper.totals().holds
    flags = keeper.services.store.rows("SELECT event_id, flag FROM flag")
    assert flags == [], "nobody dies or moves who was not there"
    assert 300 < keeper.totals().present < 1500

    due = list_due.due_today(keeper.services)
    assert 5 <= len(due) <= 13
    for _, tasks in due:
        for task in tasks:
            assert (on - task.latest).days <= 12, task
            assert (on - task.on).days <= 30, task
            assert not re.search(r"\d{3} days", why(task, on)), task

    box = list_due.next_to_feed(keeper.services)
    assert box, "there is a box to feed on every day of the year"
    before = list_due.due_text(keeper.services, box, "feed")
    log_event.log_event(keeper.services, Draft("fed", "box", box, {"prey": "garden snail"}))
    assert list_due.due_text(keeper.services, box, "feed") != before
    (feed,) = [due for due in reading.dues_of(keeper.services.store, box) if due.task == "feed"]
    assert feed.on > on


def test_the_year_goes_round(demo: Keeper) -> None:
    rows = demo.services.store.rows("SELECT kind, count(*) FROM event GROUP BY kind")
    kinds = dict(rows)
    for kind in (
        "rest_began", "rest_ended", "transfer", "prepupa", "pupated", "sexed", "emerged", "glowing", "introduced",
        "laid", "hatched", "unhatched", "died", "count", "fed", "meal_taken_out", "moulted", "quarantine_ended",
    ):  # fmt: skip
        assert kinds.get(kind, 0) >= 2, kind
    stages = Counter(line.stage for line, account, _ in reading.balances(demo.services.store) if account == "")
    assert stages[Stage.LARVA] > 15


@pytest.mark.parametrize("day", [date(2026, 1, 1) + timedelta(days=73 * n) for n in range(5)])
def test_the_story_is_the_same_for_the_same_day(day: date) -> None:
    deeds = list(story(day))
    assert list(story(day)) == deeds
    assert max(deed.day for deed in deeds) <= day
    assert {deed.subject for deed in deeds if deed.subject_type == "box"} == {f"B{n:02d}" for n in range(1, 25)}
    assert 700 < (day - min(deed.day for deed in deeds)).days < 1200, "two seasons and what led up to them"


def test_nothing_of_the_story_lies_ahead_of_the_clock(make_keeper: Callable[..., Keeper]) -> None:
    keeper = make_keeper(day="2026-05-03")
    keeper.stand("2026-05-03", 9 * 60)
    demo_colony.fill(keeper.services)
    newest = keeper.services.store.row("SELECT max(at_ms) FROM event")
    assert newest is not None
    assert newest[0] <= keeper.services.clock.now_ms()


def test_a_first_start_offers_the_demo_once(keeper: Keeper, demo: Keeper) -> None:
    assert start.start_view(keeper.services).is_new
    assert not start.start_view(demo.services).is_new
    before = demo.kept()
    with pytest.raises(EntryError, match="There is a log here already"):
        start.begin_demo(demo.services)
    assert demo.kept() == before


def test_a_clock_that_forgot_the_year_is_told_and_not_a_crash(make_keeper: Callable[..., Keeper]) -> None:
    keeper = make_keeper(day="1970-01-05")
    with pytest.raises(EntryError, match="a day from 1973 on"):
        start.begin_demo(keeper.services)
    assert keeper.n_events() == 0


def test_an_empty_shelf_is_a_beginning_too(keeper: Keeper) -> None:
    view = start.begin_empty(keeper.services)
    assert not view.is_new
    assert list_due.due_today(keeper.services) == []
