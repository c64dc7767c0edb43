"""The phone's receiver in Python: the twin of `android/java/org/boxside/nudge/Decision.java`.

Both take the same commands and must give the same answers on the plans in `shared/golden`. A command:

- `plan`: the text of a new plan, or None; `fresh`: forget everything first
- `now`: ms since 1970 by the phone's clock; `zone`: IANA name; `boot`, `up`: number of this start, ms since it
- `allowed`: whether notifications are allowed; `swiped`: slots whose notification is gone; `later`: a digest's id

The answer: `post`, `replace` (ids), `cancel` (slots), `next` (ms or None) and `memory` (text).
"""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

LATER_MINUTES = 60
_MOST_A_DAY = 3
_KEPT = 40
_GRACE_MINUTES = 12 * 60
_APART_MS = 20 * 3_600_000


def mark_of(text: str) -> str:
    """Return what tells a plan from others."""
    data = text.encode()
    return f"{zlib.crc32(data):08x}-{len(data)}"


@dataclass(slots=True)
class Posted:
    """A digest that was posted: when, and whether it still shows."""

    at_ms: int
    showing: bool


@dataclass(slots=True)
class Memory:
    """What the phone has posted and what was put off."""

    applied: str = ""
    posted: dict[str, Posted] = field(default_factory=dict)
    raised: dict[str, tuple[int, int]] = field(default_factory=dict)
    later: list[tuple[str, int, int]] = field(default_factory=list)

    def later_of(self, digest: str) -> tuple[int, int] | None:
        """Return when Later was pressed last on a digest, and for how many minutes."""
        return max(((asked, minutes) for one, asked, minutes in self.later if one == digest), default=None)

    def is_put_off(self, digest: str) -> bool:
        """Return whether a digest was put off and has not come again since."""
        move, last = self.later_of(digest), self.posted.get(digest)
        return move is not None and (last is None or last.at_ms < move[0])

    def times_posted(self, digest: str) -> int:
        """Return how often a digest was posted; each Later stands for a post that was forgotten."""
        moves = sum(1 for one, _, _ in self.later if one == digest)
        times = int(digest in self.posted)
        return max(times, moves + (1 if times and moves and not self.is_put_off(digest) else 0))

    def take_away(self, digest: str) -> None:
        """Mark a digest as taken away."""
        if digest in self.posted:
            self.posted[digest].showing = False

    def text(self) -> str:
        """Return it as the phone writes it."""
        posted = [
            {"digest": digest, "at_ms": self.posted[digest].at_ms, "showing": self.posted[digest].showing}
            for digest in sorted(self.posted)
        ]
        later = [{"digest": digest, "asked_ms": asked, "minutes": minutes} for digest, asked, minutes in self.later]
        raised = {digest: list(self.raised[digest]) for digest in sorted(self.raised)}
        whole = {"version": 1, "applied": self.applied, "posted": posted, "raised": raised, "later": later}
        return json.dumps(whole, separators=(",", ":"))


@dataclass(slots=True)
class Receiver:
    """A phone between two commands."""

    plan: dict[str, Any] = field(default_factory=dict)
    mark: str = ""
    memory: Memory = field(default_factory=Memory)

    def answer(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Do a command and return what is done with notifications."""
        if asked.get("fresh"):
            self.memory = Memory()
        if asked.get("plan") is not None:
            self.plan, self.mark = json.loads(asked["plan"]), mark_of(asked["plan"])
        for digest in list(self.memory.posted):
            if slot_of(digest) in asked["swiped"]:
                self.memory.take_away(digest)
        if asked.get("later") in self.memory.posted:
            self.memory.later.append((asked["later"], asked["now"], LATER_MINUTES))
            self.memory.take_away(asked["later"])
        return Decision(self.plan, self.mark, self.memory, asked).answer()


class Decision:
    """What to post, replace and take away at one moment."""

    def __init__(self, plan: dict[str, Any], mark: str, memory: Memory, asked: dict[str, Any]) -> None:
        self.plan, self.mark, self.memory = plan, mark, memory
        self.now_ms, self.zone = asked["now"], ZoneInfo(asked["zone"])
        self.boot, self.up_ms, self.allowed = asked["boot"], asked["up"], asked["allowed"]
        self.wall = self._wall_of(self.now_ms)
        self.post: list[str] = []
        self.replace: list[str] = []
        self.cancel: set[int] = set()
        self.next_ms: int | None = None

    def answer(self) -> dict[str, Any]:
        """Decide, and note in the memory what is done."""
        is_new = self.mark != self.memory.applied
        if is_new:
            self._apply_once()
        self._forget_unreal()
        for one in self.plan["digests"]:
            self._consider(one, is_new)
        self._prune()
        return {
            "post": self.post, "replace": self.replace, "cancel": sorted(self.cancel), "next": self.next_ms,
            "memory": self.memory.text(),
        }  # fmt: skip

    def _apply_once(self) -> None:
        for digest in self.plan["forget"]:
            self._clear(digest)
            self.memory.posted.pop(digest, None)
        for digest in self.plan["withdraw"]:
            self._clear(digest)
        self.memory.applied = self.mark

    def _clear(self, digest: str) -> None:
        if digest in self.memory.posted and self.memory.posted[digest].showing:
            self.cancel.add(slot_of(digest))
            self.memory.take_away(digest)

    def _forget_unreal(self) -> None:
        today = self.wall.date()
        for digest, one in list(self.memory.posted.items()):
            is_unreal = day_of(digest) > today and one.at_ms > self.now_ms
            if is_unreal or (day_of(digest) >= today and one.at_ms <= self.now_ms - _APART_MS):
                self._clear(digest)
                del self.memory.posted[digest]

        unreal = [one for one in self.memory.later if day_of(one[0]) > today and one[1] > self.now_ms]
        self.memory.later[:] = [one for one in self.memory.later if one not in unreal]

    def _consider(self, one: dict[str, Any], is_new: bool) -> None:
        is_put_off, last = self.memory.is_put_off(one["id"]), self.memory.posted.get(one["id"])
        if one["silent"] and not is_put_off:
            if is_new and self.allowed and last is not None and last.showing:
                self.replace.append(one["id"])
            return
        is_coming = (last is None or is_put_off) and self._times_on(one["id"][:10]) < _MOST_A_DAY
        times = self._times(one, is_put_off) if is_coming else None
        if times is None:
            return
        at, until = times
        at_ms = _ms(at, self.zone)
        if at_ms > self.now_ms:
            self.next_ms = at_ms if self.next_ms is None else min(self.next_ms, at_ms)
        is_time = at_ms <= self.now_ms and self.wall < until and not self._is_quiet(_minute_of(self.wall))
        if self.allowed and is_time and (is_put_off or not self._is_just_up(one["id"])):
            self._post(one)

    def _times(self, one: dict[str, Any], is_put_off: bool) -> tuple[datetime, datetime] | None:
        if not is_put_off:
            return datetime.fromisoformat(one["at"]), datetime.fromisoformat(one["until"])
        at = self._asked_at(one["id"])
        return None if at is None else (at, self._lapse(at))

    def _is_just_up(self, digest: str) -> bool:
        raised = self.memory.raised.get(digest)
        return raised is not None and raised[0] == self.boot and self.up_ms - raised[1] < _APART_MS

    def _times_on(self, day: str) -> int:
        return sum(self.memory.times_posted(f"{day}.{slot}") for slot in (1, 2, 3))

    def _post(self, one: dict[str, Any]) -> None:
        for digest in self.memory.posted:
            if slot_of(digest) == one["slot"]:
                self.memory.take_away(digest)
        self.memory.posted[one["id"]] = Posted(self.now_ms, showing=True)
        self.memory.raised[one["id"]] = (self.boot, self.up_ms)
        self.cancel.discard(one["slot"])
        self.post.append(one["id"])

    def _asked_at(self, digest: str) -> datetime | None:
        asked_ms, minutes = self.memory.later_of(digest) or (0, 0)
        at = self._wall_of((asked_ms // 60_000 + minutes) * 60_000)
        quiet_to = _minute(self.plan["quiet"]["to"])
        if self._is_quiet(_minute_of(at)) and quiet_to > _minute_of(at):
            end = datetime.combine(at.date(), time(quiet_to // 60, quiet_to % 60))
            at = self._wall_of(_ms(end, self.zone))
        return at if at.date() == day_of(digest) and not self._is_quiet(_minute_of(at)) else None

    def _lapse(self, at: datetime) -> datetime:
        end, start = min(1440, _minute_of(at) + _GRACE_MINUTES), _minute(self.plan["quiet"]["from"])
        if self.plan["quiet"]["from"] != self.plan["quiet"]["to"] and start > _minute_of(at):
            end = min(end, start)
        return datetime.combine(at.date(), time()) + timedelta(minutes=end)

    def _is_quiet(self, minute: int) -> bool:
        start, end = _minute(self.plan["quiet"]["from"]), _minute(self.plan["quiet"]["to"])
        return start <= minute < end if start <= end else minute >= start or minute < end

    def _wall_of(self, ms: int) -> datetime:
        exact = (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=ms)).astimezone(self.zone)
        return exact.replace(tzinfo=None, second=0, microsecond=0, fold=0)

    def _prune(self) -> None:
        memory = self.memory
        for kept in (memory.posted, memory.raised):
            for digest in sorted(kept)[: max(0, len(kept) - _KEPT)]:
                del kept[digest]
        del memory.later[: max(0, len(memory.later) - _KEPT)]


def day_of(digest: str) -> date:
    """Return the day that a digest's id names."""
    return date.fromisoformat(digest[:10])


def slot_of(digest: str) -> int:
    """Return the slot that a digest's id names."""
    return int(digest[-1])


def _minute(clock: str) -> int:
    return int(clock[:2]) * 60 + int(clock[3:])


def _minute_of(at: datetime) -> int:
    return at.hour * 60 + at.minute


def _ms(wall: datetime, zone: ZoneInfo) -> int:
    """The moment of a wall time; one that a clock change skips moves on by the gap, of two the first counts."""
    return int(
        (wall.replace(tzinfo=zone).astimezone(UTC) - datetime(1970, 1, 1, tzinfo=UTC)) / timedelta(milliseconds=1)
    )
