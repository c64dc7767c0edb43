"""Nudges on an iPhone: the system itself keeps up to 64 notifications with the app closed, so those are handed over.

References
----------
Apple, UserNotifications: UNUserNotificationCenter, UNCalendarNotificationTrigger (local wall time, as in the plan).
The limit of 64 pending notifications: from memory, stated in Apple's older UILocalNotification guide.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib import import_module
from typing import Any

from boxside.device.ports.nudges import Delivery, NudgeMemory

MOST_PENDING = 64


@dataclass(frozen=True, slots=True)
class Pending:
    """One notification as the system keeps it."""

    id: str
    at: datetime
    title: str
    body: str


def nearest(plan: Mapping[str, Any]) -> tuple[Pending, ...]:
    """Return the digests that are still to come as notifications, the nearest 64; silent ones are not among them."""
    coming = [
        Pending(one["id"], datetime.fromisoformat(one["at"]), one["title"], "\n".join(one["lines"]))
        for one in plan["digests"]
        if not one["silent"]
    ]
    return tuple(sorted(coming, key=lambda one: (one.at, one.id))[:MOST_PENDING])


class AppleNudges:
    """Hands the nearest notifications to the system, in place of those it kept.

    The lock screen follows the person's own setting of previews; there is no brief text of ours for it.
    """

    takes_plans = True

    def post(self, title: str, lines: Sequence[str]) -> Delivery:
        """Say that the phone posts from its plan, which it does by itself."""
        return Delivery(False, "the phone posts from its plan", "Wait for the hour set in Settings, or look at Round.")

    def arm(self, plan_json: str) -> Delivery:
        """Replace all pending notifications, and take away what shows and is withdrawn.

        Asks whether it may when there is a first thing to remind of (`buildspec/ios/BoxsideNudges.m`); the system
        shows that question once. What the person answered is not told here, so a refusal is not noticed.
        """
        plan = json.loads(plan_json)
        coming = nearest(plan)
        if coming:
            _class("BoxsideNudges").ask()
        centre = _class("UNUserNotificationCenter").currentNotificationCenter()
        centre.removeAllPendingNotificationRequests()
        gone = [*plan["withdraw"], *plan["forget"]]
        if gone:
            centre.removeDeliveredNotificationsWithIdentifiers_(_objc(gone))
        for one in coming:
            centre.addNotificationRequest_withCompletionHandler_(_request(one), None)
        return Delivery(True)

    def memory(self) -> NudgeMemory:
        """Return nothing: the system tells only through callbacks which pyobjus does not offer.

        The next plan leaves slots of today out that are past, so nothing comes twice.
        """
        return NudgeMemory()


def _request(one: Pending) -> Any:
    content = _class("UNMutableNotificationContent").alloc().init()
    content.setTitle_(_objc(one.title))
    content.setBody_(_objc(one.body))
    parts = _class("NSDateComponents").alloc().init()
    for name in ("year", "month", "day", "hour", "minute"):
        getattr(parts, f"set{name.capitalize()}_")(getattr(one.at, name))
    trigger = _class("UNCalendarNotificationTrigger").triggerWithDateMatchingComponents_repeats_(parts, False)
    return _class("UNNotificationRequest").requestWithIdentifier_content_trigger_(_objc(one.id), content, trigger)


def _class(name: str) -> Any:
    return import_module("pyobjus").autoclass(name)


def _objc(value: Any) -> Any:
    return (
        import_module("pyobjus").objc_arr(*value)
        if isinstance(value, list)
        else import_module("pyobjus").objc_str(value)
    )
