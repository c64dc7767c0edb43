"""The phone's plan follows the log: one call after each event, none where nothing was logged."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from boxside.actions import post_nudge
from boxside.app.arming import Arming
from boxside.core.care import digest_id
from boxside.core.values.nudge import LaterMove, Posted
from boxside.core.values.views import Notice
from boxside.device.ports import NudgeMemory
from tests.actions.keeping import Keeper


def test_plan_goes_over_once_for_each_growth_of_the_log(keeper: Keeper) -> None:
    told: list[Notice] = []
    arming = Arming(told.append)
    plans: Any = keeper.services.device.nudges.plans  # type: ignore[attr-defined]
    keeper.add("B01", n=10, instar=1, fed="today")
    arming(keeper.services)
    arming(keeper.services)
    assert len(plans) == 1
    keeper.add("B02", n=10, instar=1, fed="today")
    arming(keeper.services)
    assert len(plans) == 2
    arming.again()
    arming(keeper.services)
    assert (len(plans), told) == (3, [])


def test_a_refusal_is_told(keeper: Keeper) -> None:
    told: list[Notice] = []
    keeper.services.device.nudges.refuses = "notifications are off for Boxside"  # type: ignore[attr-defined]
    Arming(told.append)(keeper.services)
    assert [one.what for one in told] == ["Nudges come only while Boxside is open: notifications are off for Boxside."]


def test_a_device_without_plans_is_left_alone(keeper: Keeper) -> None:
    nudges: Any = keeper.services.device.nudges
    nudges.takes_plans = False
    Arming(print)(keeper.services)
    assert nudges.plans == []


def test_plan_goes_on_from_what_the_phone_posted_and_put_off(keeper: Keeper) -> None:
    nudges: Any = keeper.services.device.nudges
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    keeper.stand("2026-05-03", 18 * 60 + 5)
    now_ms = keeper.services.clock.now_ms()
    first = digest_id(date(2026, 5, 3), 1)
    nudges.remembered = NudgeMemory((Posted(first, now_ms - 60_000),))
    again = {one.id: one for one in post_nudge.planned(keeper.services).digests}
    assert first not in again or again[first].silent
    nudges.remembered = NudgeMemory(nudges.remembered.posted, (LaterMove(first, now_ms, 60),))
    made = post_nudge.planned(keeper.services)
    assert made.forget == (first,)
    moved = next(one for one in made.digests if one.id == first)
    assert moved.at_ms == (now_ms // 60_000 + 60) * 60_000
    post_nudge.arm_plan(keeper.services)
    assert json.loads(nudges.plans[-1])["forget"] == [first]
