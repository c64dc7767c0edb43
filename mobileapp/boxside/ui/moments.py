"""Asks when something happened: how long ago, or on which day at what time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from boxside.core.values.moments import from_ms, local_ms
from boxside.ui.words import say

MINUTE_MS = 60_000
AGO_MIN = (5, 15, 30, 60, 120, 240)
MOST_DAYS = 3650


@dataclass(frozen=True)
class Moment:
    """A moment as it was entered, in milliseconds since 1970 UTC and in words."""

    at_ms: int
    words: str


def ask_moment(shell: Any, then: Callable[[Moment], None], was_ms: int | None = None) -> None:
    """Ask when it was; days are those of the keeper's zone.

    Day and time start from `was_ms`, when it is thought to have been; None for now.
    """
    now_ms = shell.services.clock.now_ms()

    def chosen(ago: int) -> None:
        if ago:
            then(Moment(now_ms - ago * MINUTE_MS, ago_words(ago)))
        else:
            shell.ask("zone_of", then=lambda zone: Day(shell, now_ms, zone, then, was_ms).begin())

    items = [(ago, ago_words(ago), "later") for ago in AGO_MIN]
    shell.open_choices(say("when"), [*items, (0, say("day_and_time"), "today")], chosen)


def ago_words(minutes: int) -> str:
    """Return `30 minutes ago`, `2 hours ago`."""
    if minutes < 60:
        return say("minutes_ago", n=minutes)
    return say("hour_ago") if minutes == 60 else say("hours_ago", n=minutes // 60)


class Day:
    """Asks for the day, then the hour, then the minute."""

    def __init__(
        self, shell: Any, now_ms: int, zone: ZoneInfo, then: Callable[[Moment], None], was_ms: int | None = None
    ) -> None:
        self.shell = shell
        self.now = from_ms(now_ms, zone)
        self.was = None if was_ms is None else from_ms(was_ms, zone)
        self.zone = zone
        self.then = then

    def begin(self) -> None:
        """Ask how many days ago it was."""
        items = [(0, say("fed_today"), "today"), (1, say("yesterday"), "today"), (2, say("before_yesterday"), "today")]
        ago = 3 if self.was is None else (self.now.date() - self.was.date()).days
        if self.was is not None and ago > 2:
            items.insert(0, (ago, say("same_day", day=self._date(ago)), "today"))

        def chosen(days: int) -> None:
            if days < 0:
                self.shell.open_number(
                    say("day_earlier"), value=ago, minimum=0, maximum=MOST_DAYS, unit=say("days"), then=self._hour
                )
            else:
                self._hour(days)

        self.shell.open_choices(say("day"), [*items, (-1, say("day_earlier"), "left")], chosen)

    def _hour(self, days: int) -> None:
        self.shell.open_number(
            f"{self._date(days)}: {say('hour')}", value=(self.was or self.now).hour, maximum=23,
            then=lambda hour: self._minute(days, hour),
        )  # fmt: skip

    def _minute(self, days: int, hour: int) -> None:
        self.shell.open_number(
            f"{self._date(days)}, {hour:02d}: {say('minute')}", value=self.was.minute if self.was else 0, maximum=59,
            step=5, then=lambda minute: self._done(days, hour, minute),
        )  # fmt: skip

    def _done(self, days: int, hour: int, minute: int) -> None:
        day = self.now.date() - timedelta(days=days)
        at_ms = local_ms(day, hour * 60 + minute, self.zone)
        self.then(Moment(at_ms, f"{self._date(days)}, {hour:02d}:{minute:02d}"))

    def _date(self, days: int) -> str:
        return (self.now.date() - timedelta(days=days)).isoformat()


__all__ = ["Moment", "ago_words", "ask_moment"]
