"""Going away: what to do first, who goes unfed, what a helper does, when to be back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from boxside.actions import log_event
from boxside.actions.away import away_view
from boxside.actions.helper_sheet import sheet_bytes, sheet_text
from boxside.actions.show_box import box_view
from boxside.core.values.ahead import AwayView
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from tests.actions.keeping import Keeper

DAY = date(2026, 5, 3)


def plan(keeper: Keeper, days: int, helper: str = "", leave: int = 0) -> AwayView:
    return away_view(keeper.services, DAY + timedelta(days=leave), DAY + timedelta(days=leave + days), helper)


def fed_jobs(view: AwayView) -> list[tuple[str, str]]:
    return [(job.label, job.how) for job in view.last_day.jobs if job.task == "Feed"]


def test_a_weekend_needs_nothing_and_three_weeks_need_a_meal_and_a_helper(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 20, instar=1, fed="about", fed_days=6)
    keeper.log("B01", "misted")
    short = plan(keeper, 2)
    assert (short.last_day.jobs, short.unattended, short.helper) == ((), (), ())
    long = plan(keeper, 21)
    assert fed_jobs(long) == [("B01", "2 prey of 3 to 8 mm")]
    late = {one.task: one for one in long.unattended}
    # Fed on the 3rd, young larvae are due a week later and late two days after that.
    assert late["feed"].late_from == DAY + timedelta(days=10)
    assert late["feed"].late_days == 12
    assert long.safe_until is not None
    assert long.safe_until < late["feed"].late_from
    assert long.limiting == ("B01",)


def test_with_the_helper_on_the_days_of_the_plan_nothing_is_late(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 20, instar=1, fed="today")
    keeper.log("B01", "misted")
    view = plan(keeper, 21)
    assert view.helper
    for day in view.helper:
        keeper.stand(day.on)
        for job in day.jobs:
            kind = {"Feed": "fed", "Check moisture": "misted", "Take the meal out": "meal_taken_out"}[job.task]
            keeper.log(job.label, kind)
    keeper.stand(view.back_on)
    late = [task for task, due in keeper.dues("B01").items() if due.latest < view.back_on and task != "meal_out"]
    assert late == []


def test_back_on_the_last_safe_day_nothing_is_late_and_a_day_later_something_is(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 20, instar=1, fed="today")
    keeper.log("B01", "misted")
    safe = plan(keeper, 30).safe_until
    assert safe is not None
    assert away_view(keeper.services, DAY, safe).unattended == ()
    assert away_view(keeper.services, DAY, safe + timedelta(days=1)).unattended != ()


def test_what_is_overdue_today_is_still_to_do_if_today_is_the_last_day(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=2, fed="about", fed_days=9)
    assert fed_jobs(plan(keeper, 14)) == [("B01", "3 prey of 3 to 8 mm")]
    # Leaving in four days, it is taken as fed today, and not due again before the sixth day after that.
    assert fed_jobs(plan(keeper, 2, leave=4)) == []


def test_a_hatch_meanwhile_brings_a_meal_for_the_helper(keeper: Keeper) -> None:
    keeper.add("B01", "egg", 60)
    keeper.log("B01", "misted")
    keeper.stand(DAY + timedelta(days=24))
    keeper.log("B01", "misted")
    view = plan(keeper, 21, leave=24)
    (clutch,) = view.expected
    assert clutch.what == "hatch"
    jobs = [(day.on, job) for day in view.helper for job in day.jobs if job.task == "Feed"]
    assert jobs
    assert all(clutch.earliest is not None and on >= clutch.earliest for on, _ in jobs)
    assert all("only if larvae have hatched" in job.how for _, job in jobs)
    assert any("First larvae in B01" in text for day in view.helper for text in day.events)


def test_boxes_at_rest_are_not_fed(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 20, instar=3, fed="today")
    keeper.log("B01", "rest_began", until="2026-09-01")
    view = plan(keeper, 60)
    assert {one.task for one in view.unattended} == {"moisture"}
    assert "Feed" not in {job.task for day in (view.last_day, *view.helper) for job in day.jobs}


def test_an_empty_shelf_can_be_left_for_ever(keeper: Keeper) -> None:
    view = plan(keeper, 100)
    assert (view.safe_until, view.limiting, view.unattended) == (None, (), ())
    assert any("Nobody needs to come" in line for line in view.sheet)


def test_the_sheet_is_one_page_and_says_where_what_and_who(demo: Keeper) -> None:
    view = plan(demo, 21, helper="Alex")
    text = sheet_text(view)
    assert text.splitlines()[0] == "Glow-worms, 3 May to 24 May: for Alex"
    for day in view.helper:
        assert f"{day.on:%A} {day.on.day} May" in text
        for job in day.jobs:
            assert f"[ ] {job.label} ({job.place})" in text
    assert "no kitchen tools" in text
    pdf = sheet_bytes(view)
    assert pdf.count(b"/Type /Page ") == 1
    assert pdf.count(b"(Glow-worms, 3 May to 24 May: for Alex) Tj") == 1


def test_what_the_helper_logs_says_who_did_it(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 20, instar=1)
    log_event.log_event(keeper.services, Draft("fed", "box", keeper.id("B01"), {}, by="Alex"))
    assert box_view(keeper.services, keeper.id("B01")).history[0].when.endswith("· Alex")


def test_trips_that_make_no_sense_are_refused(keeper: Keeper) -> None:
    for leave, back in ((DAY, DAY), (DAY + timedelta(5), DAY), (DAY - timedelta(1), DAY), (DAY, date(2029, 1, 1))):
        with pytest.raises(EntryError):
            away_view(keeper.services, leave, back)
