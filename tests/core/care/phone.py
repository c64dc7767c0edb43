"""A phone that reads nudge plans as `shared/nudge-plan.schema.json` says, in virtual time and any zone."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from typing import Any

from boxside.core.values.moments import from_ms
from boxside.core.values.nudge import Posted


@dataclass
class Post:
    """One notification as it was posted: the wall time it was posted at, and what it said."""

    digest: str
    at_ms: int
    wall: datetime
    said: dict[str, Any]


@dataclass
class Phone:
    zone: tzinfo
    plan: dict[str, Any] = field(default_factory=lambda: {"digests": [], "quiet": {"from": "00:00", "to": "00:00"}})
    known: dict[str, Posted] = field(default_factory=dict)
    posts: list[Post] = field(default_factory=list)
    is_on: bool = True

    def read(self, text: str) -> None:
        """Take over a new plan: take away what it withdraws, forget what may come again."""
        self.plan = json.loads(text)
        for digest in self.plan["forget"]:
            self.known.pop(digest, None)
        for digest in self.plan["withdraw"]:
            if digest in self.known:
                self.known[digest] = Posted(digest, self.known[digest].at_ms, showing=False)

    def next_ms(self, now_ms: int) -> int | None:
        """The next moment at which a digest comes, were the phone on."""
        moments = [self._instant_ms(one["at"]) for one in self.plan["digests"] if not one["silent"]]
        return min((ms for ms in moments if ms > now_ms), default=None)

    def wake(self, now_ms: int) -> None:
        """An alarm, a boot or a change of zone: post what is due by the wall clock and was not posted."""
        wall = from_ms(now_ms, self.zone).replace(tzinfo=None)
        now = wall.isoformat(timespec="minutes")
        for one in self.plan["digests"]:
            fits = one["at"] <= now < one["until"] and not self._is_quiet(now[11:])
            if self.is_on and fits and not one["silent"] and one["id"] not in self.known:
                self._post(one, now_ms, wall)

    def posted(self) -> tuple[Posted, ...]:
        return tuple(self.known.values())

    def _post(self, one: dict[str, Any], now_ms: int, wall: datetime) -> None:
        for digest, old in self.known.items():
            if digest.endswith(f".{one['slot']}"):
                self.known[digest] = Posted(digest, old.at_ms, showing=False)
        self.known[one["id"]] = Posted(one["id"], now_ms)
        self.posts.append(Post(one["id"], now_ms, wall, one))

    def _is_quiet(self, clock: str) -> bool:
        start, end = self.plan["quiet"]["from"], self.plan["quiet"]["to"]
        return start <= clock < end if start <= end else clock >= start or clock < end

    def _instant_ms(self, wall: str) -> int:
        local = datetime.fromisoformat(wall).replace(tzinfo=self.zone)
        return int(local.astimezone(UTC).timestamp() * 1000)
