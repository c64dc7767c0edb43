"""The phone's plan follows the log: one call after each event, none where nothing was logged."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from boxside.actions import post_nudge
from boxside.actions.settings import settings_view
from boxside.app.arming import Arming
from boxside.core.care import digest_id
from boxside.core.values.errors import DeviceError
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


REFUSED = "Nudges come only while Boxside is open: notifications are off for Boxside."


def nudge_of_settings(keeper: Keeper) -> tuple[str, ...]:
    return settings_view(keeper.services).nudge


def test_a_refusal_is_told_once_and_then_what_a_nudge_would_have_said_once_a_day(keeper: Keeper) -> None:
    keeper.services.device.nudges.refuses = "notifications are off for Boxside"  # type: ignore[attr-defined]
    keeper.add("B01", n=10, instar=1, fed="about", fed_days=8)
    told = post_nudge.keep_armed(keeper.services)
    assert told is not None
    assert (told.what, told.safe) == (REFUSED, "Today’s nudge would say: B01 is due.")
    assert told.do
    assert nudge_of_settings(keeper)[:2] == (REFUSED, "B01 is due")
    assert post_nudge.keep_armed(keeper.services) is None
    keeper.stand("2026-05-04", 18 * 60)
    assert post_nudge.keep_armed(keeper.services) == Notice("1 box is due.")
    assert post_nudge.keep_armed(keeper.services) is None
    keeper.services.device.nudges.refuses = ""  # type: ignore[attr-defined]
    assert post_nudge.keep_armed(keeper.services) is None
    assert nudge_of_settings(keeper)[0] == "B01 is due"


def test_what_is_told_is_told_once_a_run(keeper: Keeper) -> None:
    told: list[Notice] = []
    keeper.services.device.nudges.refuses = "notifications are off for Boxside"  # type: ignore[attr-defined]
    arming = Arming(told.append)
    for _ in range(3):
        arming.again()
        arming(keeper.services)
    assert [one.what for one in told] == [REFUSED]


def test_a_phone_that_fails_is_told(keeper: Keeper, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(plan: str) -> None:
        raise DeviceError("The phone did not take the reminders. Nothing was changed. Open Boxside again.")

    told: list[Notice] = []
    monkeypatch.setattr(type(keeper.services.device.nudges), "arm", lambda _, plan: broken(plan))
    Arming(told.append)(keeper.services)
    assert [one.what for one in told] == ["The phone did not take the reminders."]


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
