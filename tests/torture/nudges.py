"""Ten years of nudges in virtual time: `python -m tests.torture.nudges [--keepers 6] [--years 10] [--java]`.

Random keepers feed, forget, travel, press Later, swipe nudges away, refuse notifications and allow them again; phones
run flat, are started anew, doze through their alarm, and have a wrong clock for some hours. The plans are Boxside's,
the phone is the receiver (its Python twin, or with `--java` the Java itself). It is a simulation: of an Android phone
it knows only that alarms are gone after a start, come up to an hour late and never early, and that the system tells
of starts, clocks and zones. A nudge that lapses within that hour (quiet hours, the next slot) is not counted as lost.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from boxside.core.care import plan, plan_json
from boxside.core.values.due import Due, Reason
from boxside.core.values.errors import EntryError
from boxside.core.values.moments import DAY_MS, day_of, from_ms, local_ms
from boxside.core.values.nudge import MAX_SLOTS, BoxDues, LaterMove, NudgePrefs, Posted
from buildspec import java
from buildspec.receiver import Receiver

ZONES = (
    "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "America/Sao_Paulo", "Asia/Kathmandu", "Asia/Kolkata",
    "Pacific/Kiritimati", "Pacific/Niue", "Pacific/Chatham", "Antarctica/Troll", "America/St_Johns", "UTC",
)  # fmt: skip
START = datetime(2015, 1, 1, tzinfo=UTC)
REASON = Reason("feeding.young", "e", 7, "Last fed on 3 May; young larvae eat about every week.")
PLAN_DAYS = 20
MINUTE_MS, HOUR_MS = 60_000, 3_600_000
DOZE_MS = HOUR_MS


class Phone(Protocol):
    """The receiver in Python or Java."""

    def answer(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Do a command."""
        ...


class Careless:
    """A control: a receiver that is told of no quiet hours, and of digests that hold for days."""

    def __init__(self, phone: Phone) -> None:
        self.phone = phone

    def answer(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Do a command by a plan that was falsified."""
        if asked["plan"]:
            told = json.loads(asked["plan"])
            told["quiet"] = {"from": "00:00", "to": "00:00"}
            for one in told["digests"]:
                one["until"] = (datetime.fromisoformat(one["at"]) + timedelta(days=3)).strftime("%Y-%m-%dT%H:%M")
            asked = {**asked, "plan": json.dumps(told)}
        return self.phone.answer(asked)


@dataclass
class Found:
    """What came of the years; all but `days` and `posts` have to be 0, and `most_a_day` no more than three."""

    days: int = 0
    posts: int = 0
    expected: int = 0
    most_a_day: int = 0
    twice: int = 0
    stale: int = 0
    in_quiet: int = 0
    lost: int = 0

    def add(self, other: Found) -> None:
        for name in ("days", "posts", "expected", "twice", "stale", "in_quiet", "lost"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.most_a_day = max(self.most_a_day, other.most_a_day)

    @property
    def is_good(self) -> bool:
        return self.most_a_day <= MAX_SLOTS and not (self.twice or self.stale or self.in_quiet or self.lost)


@dataclass
class Life:
    """One keeper with one phone. `now_ms` is the true time, the phone's clock shows `skew_ms` more."""

    rnd: random.Random
    phone: Phone
    prefs: NudgePrefs
    due_on: dict[str, date]
    now_ms: int
    hears_system: bool = True
    forgets: bool = False
    zone: str = ""
    skew_ms: int = 0
    boot: int = 1
    booted_ms: int = 0
    is_on: bool = True
    allowed: bool = True
    alarm_ms: int | None = None
    memory: dict[str, Any] = field(default_factory=lambda: {"posted": [], "later": []})
    digests: dict[str, dict[str, Any]] = field(default_factory=dict)
    changed_ms: list[int] = field(default_factory=list)
    off_ms: list[list[int]] = field(default_factory=list)
    wanted: list[tuple[str, int, int, int]] = field(default_factory=list)
    posts: list[tuple[str, int, date]] = field(default_factory=list)
    presses: list[tuple[str, int]] = field(default_factory=list)
    found: Found = field(default_factory=Found)
    is_fresh: bool = True

    @property
    def clock_ms(self) -> int:
        return self.now_ms + self.skew_ms

    def command(self, **more: Any) -> None:
        """Wake the receiver, and look at what it posts."""
        asked = {
            "fresh": self.is_fresh or self.forgets, "plan": None, "now": self.clock_ms, "zone": self.zone,
            "boot": self.boot, "up": self.now_ms - self.booted_ms, "allowed": self.allowed, "swiped": [], "later": None,
        }  # fmt: skip
        said = self.phone.answer({**asked, **more})
        self.is_fresh = False
        self.memory = json.loads(said["memory"])
        # A phone's alarms stand by its clock: the true time of the next one moves with it.
        self.alarm_ms = None if said["next"] is None else said["next"] - self.skew_ms + self.rnd.randrange(DOZE_MS)
        wall = from_ms(self.clock_ms, ZoneInfo(self.zone))
        for digest in said["post"]:
            self._look(digest, wall)

    def _look(self, digest: str, wall: datetime) -> None:
        said = self.digests[digest]
        due = {box for box, on in self.due_on.items() if on <= wall.date()}
        is_true = set(said["boxes"]) <= due and said["n_boxes"] <= len(due) and digest[:10] == wall.date().isoformat()
        self.found.stale += not is_true
        self.found.in_quiet += self.prefs.is_quiet(wall.hour * 60 + wall.minute)
        before = [at for one, at, _ in self.posts if one == digest and self.now_ms - at < 20 * HOUR_MS]
        if before and not any(one == digest and at >= before[-1] for one, at in self.presses):
            self.found.twice += 1
        self.posts.append((digest, self.now_ms, wall.date()))
        recent = [one for one in self.posts[-12:] if self.now_ms - one[1] < 20 * HOUR_MS and one[2] == wall.date()]
        self.found.most_a_day = max(self.found.most_a_day, len(recent))

    def open_app(self) -> None:
        """Feed some boxes, then have Boxside plan anew, in the zone and by the clock of the phone."""
        today = day_of(self.clock_ms, ZoneInfo(self.zone))
        for box, on in self.due_on.items():
            if on <= today and self.rnd.random() < 0.6:
                self.due_on[box] = today + timedelta(days=self.rnd.randint(1, 20))
        self.prefs = replace(self.prefs, zone=self.zone)
        self.replan()

    def replan(self) -> None:
        zone = ZoneInfo(self.prefs.zone)
        posted = [Posted(one["digest"], one["at_ms"], one["showing"]) for one in self.memory["posted"]]
        later = tuple(LaterMove(one["digest"], one["asked_ms"], one["minutes"]) for one in self.memory["later"])
        boxes = [BoxDues(box, box, "larvae", (_due(box, on),)) for box, on in self.due_on.items()]
        made = plan(boxes, replace(self.prefs, later=later), self.clock_ms, zone, posted, days=PLAN_DAYS)
        text = plan_json(made)
        self.digests = {one["id"]: one for one in json.loads(text)["digests"]} | {
            # What shows is not planned again, but Later may bring it back as it was.
            one: said
            for one, said in self.digests.items()
            if one >= day_of(self.clock_ms, zone).isoformat()
        }
        self.digests.update({one["id"]: one for one in json.loads(text)["digests"]})
        self.command(plan=text)
        self._expect()
        nothing_due = all(on > day_of(self.clock_ms, zone) for on in self.due_on.values())
        self.found.stale += nothing_due and any(one["showing"] for one in self.memory["posted"])

    def something_happens(self) -> None:
        """One thing out of a keeper's and a phone's life."""
        if not self.is_on:
            self.start()
            return
        doing: list[tuple[float, Callable[[], None]]] = [
            (0.55, self.open_app), (0.12, self.press_later), (0.12, self.swipe), (0.03, self.travel),
            (0.04, self.run_flat), (0.06, self.start), (0.03, self.refuse_or_allow), (0.05, self.set_clock),
        ]  # fmt: skip
        weights, acts = zip(*doing, strict=True)
        act = self.rnd.choices(acts, weights)[0]
        if act not in (self.swipe, self.run_flat, self.start):
            self.changed_ms.append(self.now_ms)
        act()

    def press_later(self) -> None:
        showing = [one["digest"] for one in self.memory["posted"] if one["showing"]]
        if showing:
            self.presses.append((showing[-1], self.now_ms))
            self.command(later=showing[-1])

    def swipe(self) -> None:
        self.command(swiped=[1, 2, 3])

    def travel(self) -> None:
        self.zone = self.rnd.choice(ZONES)
        if self.hears_system:
            self.command()

    def run_flat(self) -> None:
        self.is_on, self.alarm_ms = False, None
        self.off_ms.append([self.now_ms, sys.maxsize])

    def start(self) -> None:
        if not self.is_on:
            self.off_ms[-1][1] = self.now_ms
        self.is_on, self.alarm_ms = True, None
        self.boot, self.booted_ms = self.boot + 1, self.now_ms
        if self.hears_system:
            self.command(swiped=[1, 2, 3])

    def refuse_or_allow(self) -> None:
        self.allowed = not self.allowed
        self.command()

    def set_clock(self) -> None:
        """Wrong by up to forty days for a while, or right again; an alarm that the clock has passed comes at once."""
        self.skew_ms = 0 if self.skew_ms else self.rnd.choice((-1, 1)) * self.rnd.randrange(40 * DAY_MS)
        if self.hears_system:
            self.command()

    def live(self, days: int) -> Found:
        """Live so many days."""
        end_ms = self.now_ms + days * DAY_MS
        self.replan()
        while self.now_ms < end_ms:
            usual = self.rnd.randrange(1, 2 * DAY_MS) if self.skew_ms == 0 else self.rnd.randrange(1, 4 * HOUR_MS)
            stop_ms = self.now_ms + (usual if self.rnd.random() < 0.97 else self.rnd.randrange(12 * DAY_MS))
            while self.is_on and self.alarm_ms is not None and self.alarm_ms <= stop_ms:
                self.now_ms = max(self.now_ms, self.alarm_ms)
                self.command()
            self.now_ms = stop_ms
            self.something_happens()
        self.found.days, self.found.posts = days, len(self.posts)
        self._count_lost()
        return self.found

    def _expect(self) -> None:
        """Note which nudges have to come by this plan if nothing changes: written anew here, not asked of the plan."""
        if self.skew_ms or not self.allowed:
            return
        zone = ZoneInfo(self.zone)
        today = day_of(self.now_ms, zone)
        for day in (today + timedelta(days=n) for n in range(PLAN_DAYS)):
            slots = sorted(self.prefs.slots)
            moments = [local_ms(day, minute, zone) for minute in slots] + [sys.maxsize]
            for n, minute in enumerate(slots):
                is_due = any(on + timedelta(days=3 if n else 0) <= day for on in self.due_on.values())
                at_wall = from_ms(moments[n], zone)
                is_usual = at_wall.date() == day and at_wall.hour * 60 + at_wall.minute == minute
                if is_due and is_usual and moments[n] > self.now_ms:
                    end_ms = min(moments[n] + 12 * HOUR_MS, moments[n + 1], self._quiet_from(moments[n], minute))
                    self.wanted.append((f"{day}.{n + 1}", self.now_ms, moments[n], end_ms))

    def _quiet_from(self, at_ms: int, minute: int) -> int:
        """The first quiet moment after one, or the day's end; an hour sooner, since a clock change may lie between."""
        minutes = 1440 - minute
        if self.prefs.quiet_from != self.prefs.quiet_to:
            minutes = min(minutes, (self.prefs.quiet_from - minute) % 1440)
        return at_ms + (minutes - 60) * MINUTE_MS

    def _count_lost(self) -> None:
        """Count what had to come and did not: phone on or started in time, nothing changed since the plan."""
        times = self._times()
        for digest, planned_ms, at_ms, end_ms in self.wanted:
            off = next((one for one in self.off_ms if one[0] <= at_ms + DOZE_MS and one[1] > at_ms), None)
            latest_ms = at_ms + DOZE_MS if off is None else max(at_ms, off[1]) + DOZE_MS
            nth = bisect_left(self.changed_ms, planned_ms + 1)
            changed_ms = self.changed_ms[nth] if nth < len(self.changed_ms) else sys.maxsize
            if latest_ms >= min(end_ms, changed_ms, self.now_ms):
                continue
            near = [at for at in times.get(digest, ()) if at_ms - 20 * HOUR_MS < at <= latest_ms]
            is_full = sum(len(times.get(f"{digest[:10]}.{n}", ())) for n in (1, 2, 3)) >= MAX_SLOTS
            self.found.expected += 1
            self.found.lost += not near and not is_full

    def _times(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for digest, at, _ in self.posts:
            found.setdefault(digest, []).append(at)
        return found


def _due(box: str, on: date) -> Due:
    return Due(box, "feed", on - timedelta(days=1), on, on + timedelta(days=2), (REASON,), 20)


def random_prefs(rnd: random.Random) -> NudgePrefs:
    """One to three slots at any times outside the quiet hours."""
    zone = rnd.choice(ZONES)
    while True:
        slots = tuple(sorted(rnd.sample(range(0, 1440, 5), rnd.randint(1, 3))))
        quiet_from, quiet_to = rnd.randrange(1440), rnd.randrange(1440)
        try:
            return NudgePrefs(slots, quiet_from, quiet_to, zone)
        except EntryError:
            continue


def live(seed: int, days: int, phone: Phone, **how: bool) -> Found:
    """Return what came of one keeper's years."""
    rnd = random.Random(seed)
    prefs = random_prefs(rnd)
    now_ms = int(START.timestamp() * 1000) + rnd.randrange(365 * DAY_MS)
    today = day_of(now_ms, ZoneInfo(prefs.zone))
    due_on = {f"B{n:02d}": today + timedelta(days=rnd.randint(-3, 20)) for n in range(1, 4)}
    life = Life(rnd, phone, prefs, due_on, now_ms, zone=prefs.zone, booted_ms=now_ms, **how)
    return life.live(days)


def run(n_keepers: int, days: int, phone: Callable[[], Phone], first_seed: int = 1, **how: bool) -> Found:
    """Return what came of several keepers' years."""
    found = Found()
    for seed in range(first_seed, first_seed + n_keepers):
        found.add(live(seed, days, phone(), **how))
    return found


def main(argv: Sequence[str]) -> int:
    """Run the years and both controls; returns 1 where something was wrong, or a control saw nothing."""
    parser = argparse.ArgumentParser(prog="python -m tests.torture.nudges", description=__doc__)
    parser.add_argument("--keepers", type=int, default=6)
    parser.add_argument("--years", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--java", action="store_true", help="the Java receiver on this computer's JVM")
    asked = parser.parse_args(argv)
    days = asked.years * 365
    if asked.java:
        with tempfile.TemporaryDirectory() as folder:
            java.compile_into(Path(folder))
            with java.phone(Path(folder)) as phone:
                found = run(asked.keepers, days, lambda: phone, asked.seed)
    else:
        found = run(asked.keepers, days, Receiver, asked.seed)
    receiver = "Java" if asked.java else "Python"
    print(f"{asked.keepers} keepers, {found.days:,} simulated days, {receiver} receiver: {found}", flush=True)
    forgetful = run(2, 365, Receiver, forgets=True)
    deaf = run(3, 365, Receiver, hears_system=False)
    careless = run(3, 365, lambda: Careless(Receiver()), first_seed=3)
    print(
        f"control, a phone that knows no end nor quiet: {careless.stale} stale, {careless.in_quiet} in quiet hours, "
        f"up to {careless.most_a_day} a day"
    )
    print(f"control, a phone that forgets what it posted: {forgetful.twice} posted twice")
    print(f"control, a phone that is not told of its starts: {deaf.lost} lost of {deaf.expected}")
    controls = (forgetful.twice, deaf.lost, careless.stale, careless.in_quiet, careless.most_a_day > MAX_SLOTS)
    return 0 if found.is_good and all(controls) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
