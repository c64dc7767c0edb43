"""Nudges: what today's says, whether it was handed over, and the plan of the coming weeks."""

from __future__ import annotations

import json

import pytest

from boxside.actions import post_nudge, settings
from boxside.device.fake import FakeNudges
from tests.actions.keeping import Keeper


def nudges(keeper: Keeper) -> FakeNudges:
    part = keeper.services.device.nudges
    assert isinstance(part, FakeNudges)
    return part


def test_nothing_due_posts_nothing(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="today")
    view = post_nudge.post_nudge(keeper.services)
    assert (view.title, view.lines, view.posted, view.notice) == ("", (), False, None)
    assert nudges(keeper).posted == []


def test_it_says_who_and_why_young_first(keeper: Keeper) -> None:
    keeper.add("OLD", n=4, instar=3, fed="about", fed_days=15)
    keeper.add("YOUNG", n=10, instar=1, fed="about", fed_days=8)
    view = post_nudge.post_nudge(keeper.services)
    assert view.title == "YOUNG and OLD are due"
    assert view.lines[0] == (
        "YOUNG, 10 larvae, instar 1: feed. "
        "Due since Saturday: last fed about 25 April; young larvae eat about every week."
    )
    assert view.posted
    assert nudges(keeper).posted == [(view.title, view.lines)]


def test_a_refused_delivery_is_told(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    nudges(keeper).refuses = "nobody listens"
    view = post_nudge.post_nudge(keeper.services)
    assert not view.posted
    assert view.title == "B01 is due"
    assert view.notice is not None
    assert (view.notice.what, view.notice.bad) == ("The nudge was not shown: nobody listens.", True)
    assert view.notice.do == "Look at the round instead."


def test_a_plan_that_cannot_be_armed_is_told(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    assert post_nudge.arm_plan(keeper.services) is None
    nudges(keeper).refuses = "alarms are switched off"
    notice = post_nudge.arm_plan(keeper.services)
    assert notice is not None
    assert "only while Boxside is open: alarms are switched off" in notice.what
    assert len(nudges(keeper).plans) == 1


def test_the_armed_plan_is_the_plan_and_says_the_same_as_the_round(demo: Keeper) -> None:
    demo.stand("2026-05-03", 9 * 60)
    assert post_nudge.arm_plan(demo.services) is None
    (text,) = nudges(demo).plans
    plan = json.loads(text)
    first = plan["digests"][0]
    assert (first["id"], first["at"]) == ("2026-05-03.1", "2026-05-03T18:00")
    due = demo.due_labels()
    assert first["boxes"] == due[: len(first["boxes"])]
    assert first["n_boxes"] == len(due)
    assert len({digest["id"] for digest in plan["digests"]}) == len(plan["digests"])
    assert plan["digests"][-1]["id"] == "2026-07-02.1", "sixty days ahead"


def test_a_feeding_is_no_longer_in_the_plan(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    assert post_nudge.planned(keeper.services).digests[0].day.isoformat() == "2026-05-04"
    keeper.log("B01", "fed")
    plan = post_nudge.planned(keeper.services)
    assert plan.digests[0].day.isoformat() == "2026-05-06"
    assert "take the meal out" in plan.digests[0].lines[0]


def test_nudges_can_be_switched_off(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    settings.change_setting(keeper.services, "nudges_on", "off")
    assert not post_nudge.post_nudge(keeper.services).posted
    assert nudges(keeper).posted == []
    assert post_nudge.planned(keeper.services).digests == ()


@pytest.mark.parametrize(
    ("changes", "times"),
    [
        ({}, ["18:00"]),
        ({"nudge_minute": 480}, ["08:00"]),
        ({"nudge_second": "720"}, ["12:00", "18:00"]),
        ({"nudge_second": "720", "nudge_third": "1260"}, ["12:00", "18:00", "21:00"]),
        ({"quiet_from": 1080, "quiet_to": 420, "nudge_second": "720"}, ["12:00"]),
        ({"nudge_second": "1200", "nudge_third": "1200"}, ["18:00", "20:00"]),
    ],
)
def test_it_comes_at_the_keepers_hours_and_never_in_the_quiet_ones(
    keeper: Keeper, changes: dict[str, object], times: list[str]
) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=30)
    for key, value in changes.items():
        settings.change_setting(keeper.services, key, value)  # type: ignore[arg-type]
    planned = post_nudge.planned(keeper.services).digests
    assert [one.at_local[11:] for one in planned if one.day.isoformat() == "2026-05-04"] == times


def test_quiet_hours_around_every_slot_leave_no_nudge(keeper: Keeper) -> None:
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=30)
    settings.change_setting(keeper.services, "quiet_from", 1000)
    settings.change_setting(keeper.services, "quiet_to", 1200)
    assert post_nudge.planned(keeper.services).digests == ()
