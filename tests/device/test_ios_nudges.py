"""The iPhone's nudges over fake classes of Apple's: which are handed over, at what time."""

from __future__ import annotations

import json
import sys
import types
from typing import Any

import pytest

from boxside.device.ios.nudges import MOST_PENDING, AppleNudges, nearest
from buildspec import golden


class Class:
    """Records every call on a class or its objects."""

    def __init__(self, calls: list[tuple[str, tuple[Any, ...]]], name: str) -> None:
        self._calls, self._name = calls, name

    def __getattr__(self, name: str) -> Any:
        def call(*args: Any) -> Class:
            self._calls.append((name, args))
            return Class(self._calls, f"{self._name}.{name}")

        return call


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, tuple[Any, ...]]]:
    made: list[tuple[str, tuple[Any, ...]]] = []
    fake = types.ModuleType("pyobjus")
    fake.autoclass = lambda name: Class(made, name)  # type: ignore[attr-defined]
    fake.objc_str = str  # type: ignore[attr-defined]
    fake.objc_arr = lambda *all_of: list(all_of)  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "pyobjus", fake)
    return made


def plans() -> list[dict[str, Any]]:
    return [plan for path in sorted(golden.FOLDER.glob("*.json")) for plan in json.loads(path.read_text())["plans"]]


def test_the_nearest_sixty_four_are_handed_over_soonest_first() -> None:
    one = plans()[0]["digests"][0]
    many = [
        {**one, "id": f"2027-{m:02d}-{d:02d}.1", "at": f"2027-{m:02d}-{d:02d}T18:00"}
        for m in (3, 2, 1)
        for d in range(1, 29)
    ]
    found = nearest({"digests": many})
    assert len(found) == MOST_PENDING
    assert found[0].id == "2027-01-01.1"
    assert [one.at for one in found] == sorted(one.at for one in found)


@pytest.mark.parametrize("nth", range(len(plans())))
def test_each_golden_plan_is_handed_over_without_its_silent_ones(nth: int, calls: Any) -> None:
    plan = plans()[nth]
    assert AppleNudges().arm(golden.canonical(plan)).handed_over
    coming = [one for one in plan["digests"] if not one["silent"]]
    assert sum(1 for name, _ in calls if name == "addNotificationRequest_withCompletionHandler_") == len(coming)
    hours = [args[0] for name, args in calls if name == "setHour_"]
    assert sorted(hours) == sorted(int(one["at"][11:13]) for one in coming)
    assert sum(1 for name, _ in calls if name == "ask") == bool(coming)
    gone = [args[0] for name, args in calls if name == "removeDeliveredNotificationsWithIdentifiers_"]
    assert gone == ([[*plan["withdraw"], *plan["forget"]]] if plan["withdraw"] or plan["forget"] else [])
