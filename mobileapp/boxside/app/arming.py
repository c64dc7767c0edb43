"""The plan of nudges kept up to date: handed to the phone anew after whatever was logged, and at start and pause."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.app.desk import notice_of
from boxside.core.values.errors import BoxsideError
from boxside.core.values.views import Notice


class Arming:
    """Called on the worker after each action; hands over a plan where the log has grown since the last one.

    What is to be told of it goes to `tell`, the same words once only.
    """

    def __init__(self, tell: Callable[[Notice], None]) -> None:
        self._tell = tell
        self._armed_at: object = None
        self._told: set[str] = set()

    def again(self) -> None:
        """Have the plan handed over anew next time, whether or not the log has grown."""
        self._armed_at = None

    def __call__(self, services: Any) -> None:
        """Hand over a plan if the log has grown."""
        if not services.device.nudges.takes_plans:
            return
        newest = services.store.row("SELECT max(row) FROM event")
        if newest == self._armed_at:
            return
        # Loaded here, since few starts need it at once.
        from boxside.actions.post_nudge import keep_armed

        self._armed_at = newest
        try:
            notice = keep_armed(services)
        except BoxsideError as error:
            notice = notice_of(error)
        if notice is not None and notice.what not in self._told:
            self._told.add(notice.what)
            self._tell(notice)


__all__ = ["Arming"]
