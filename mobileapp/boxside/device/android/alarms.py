"""Nudges on the phone: a plan in a file, which small Java receivers follow with the app closed.

The folder lies in the app's private files beside `files/app`, which every update of the app deletes. What the
receivers do is decided in `buildspec/android/java/org/boxside/nudge/Decision.java`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from boxside.core.values.nudge import LaterMove, Posted
from boxside.device.android.jni import activity, api_level, context, java, leave_thread, on_ui_thread, told
from boxside.device.android.opened import on_place
from boxside.device.ports.nudges import Delivery, NudgeMemory
from boxside.device.written import write_file

FOLDER, PLAN, MEMORY, ASKED = "boxside-nudges", "plan.json", "memory.json", "asked"
RECEIVER = "org.boxside.nudge.Nudges"
PERMISSION = "android.permission.POST_NOTIFICATIONS"
_ASKS = 33
_REQUEST = 7301
_DO = "Allow notifications for Boxside in the phone’s settings."


class AndroidNudges:
    """Hands plans to the receivers; `files` is the app's private folder."""

    takes_plans = True

    def __init__(self, files: Path) -> None:
        self.folder = files / FOLDER

    def post(self, title: str, lines: Sequence[str]) -> Delivery:
        """Say that the phone posts from its plan, which it does by itself."""
        return Delivery(False, "the phone posts from its plan", "Wait for the hour set in Settings, or look at Round.")

    def arm(self, plan_json: str) -> Delivery:
        """Write the plan, then have it read; asks for permission once, when there is a first thing to remind of."""
        self.folder.mkdir(parents=True, exist_ok=True)
        write_file(self.folder / PLAN, plan_json.encode())
        with told("The phone did not take the reminders", "Open Boxside again."):
            wrong = str(java(RECEIVER).sync(context()))
            allowed = bool(java(RECEIVER).areAllowed(context()))
        if wrong:
            return Delivery(False, wrong, "Open Boxside again.")
        if allowed or not json.loads(plan_json)["digests"] or self._asks_now():
            return Delivery(True)
        return Delivery(False, "notifications are off for Boxside", _DO)

    def memory(self) -> NudgeMemory:
        """Return what the receivers posted; nothing where they wrote nothing that can be read."""
        try:
            said = json.loads((self.folder / MEMORY).read_text(encoding="utf-8"))
            return _memory(said)
        except FileNotFoundError:
            return NudgeMemory()
        except (OSError, ValueError, KeyError, TypeError):
            # The receivers start anew too: at worst a nudge comes twice.
            return NudgeMemory()

    def on_tap(self, then: Callable[[str], None]) -> None:
        """Have `then` called with the place, on Android's thread, when a nudge is tapped while the app is there."""
        on_place(then)

    def leave_thread(self) -> None:
        """Say goodbye to Java on the worker, before its thread ends."""
        leave_thread()

    def _asks_now(self) -> bool:
        """Ask for permission where it was never asked; returns whether the person is being asked now."""
        asked = self.folder / ASKED
        if api_level() < _ASKS or asked.exists():
            return False
        write_file(asked, b"1")
        on_ui_thread(lambda: activity().requestPermissions([PERMISSION], _REQUEST))
        return True


def _memory(said: Any) -> NudgeMemory:
    posted = tuple(Posted(str(one["digest"]), int(one["at_ms"]), bool(one["showing"])) for one in said["posted"])
    later = tuple(LaterMove(str(one["digest"]), int(one["asked_ms"]), int(one["minutes"])) for one in said["later"])
    return NudgeMemory(posted, later)
