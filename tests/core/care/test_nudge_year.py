"""A phone through a year of virtual time: random keepers, zones, clock changes, journeys, flat batteries.

This is a simulation of the receiver that `shared/nudge-plan.schema.json` describes, not of a phone's alarms.
"""

from __future__ import annotations

import json
import random
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import jsonschema
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from boxside.core.care import plan, plan_json
from boxside.core.values.due import Due, Reason
from boxside.core.values.moments import DAY_MS, day_of
from boxside.core.values.nudge import MAX_SLOTS, BoxDues, LaterMove, NudgePrefs
from tests.core.care.phone import Phone

SCHEMA = json.loads((Path(__file__).parents[3] / "shared" / "nudge-plan.schema.json").read_text(encoding="utf-8"))
ZONES = (
    "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "America/Sao_Paulo", "Asia/Kathmandu",
    "Pacific/Apia", "Pacific/Kiritimati", "Pacific/Niue", "Antarctica/Troll", "Africa/Casablanca", "UTC",
)  # fmt: skip
STARTS = (date(2011, 3, 1), date(2017, 9, 1), date(2026, 1, 1))
REASON = Reason("feeding.young", "e", 7, "Last fed on 3 May; young larvae eat about every week.")
DAYS, HORIZON = 365, 12


@dataclass
class Keeper:
    """A keeper with a few boxes, who feeds some of them at odd times, travels and presses Later."""

    rnd: random.Random
    prefs: NudgePrefs
    phone: Phone
    due_on: dict[str, date]
    n_later: dict[str, int]

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.prefs.zone)

    def boxes(self) -> list[BoxDues]:
        return [BoxDues(box, box, "larvae", (self._due(box, on),)) for box, on in self.due_on.items()]

    def _due(self, box: str, on: date) -> Due:
        return Due(box, "feed", on - timedelta(days=1), on, on + timedelta(days=2), (REASON,), 20)

    def replan(self, now_ms: int) -> None:
        made = plan(self.boxes(), self.prefs, now_ms, self.zone, self.phone.posted(), days=HORIZON)
        self.phone.read(plan_json(made))

    def act(self, now_ms: int) -> None:
        """Open the app: feed, travel, or put the nudge off; then plan again, as after every event."""
        today, doing = day_of(now_ms, self.zone), self.rnd.random()
        if doing < 0.06:
            self.prefs = replace(self.prefs, zone=self.rnd.choice(ZONES))
            self.phone.zone = self.zone
        elif doing < 0.3:
            self._later(now_ms)
        else:
            for box, on in self.due_on.items():
                if on <= today and self.rnd.random() < 0.7:
                    self.due_on[box] = today + timedelta(days=self.rnd.randint(1, 20))
        self.replan(now_ms)

    def _later(self, now_ms: int) -> None:
        showing = [one for one in self.phone.posted() if one.showing]
        if showing and self.phone.posts:
            digest = showing[-1].digest
            move = LaterMove(digest, now_ms, self.rnd.choice((30, 120, 600)))
            self.prefs = replace(self.prefs, later=(*self.prefs.later[-12:], move))
            self.n_later[digest] = self.n_later.get(digest, 0) + 1


@st.composite
def prefs(draw: st.DrawFn) -> NudgePrefs:
    quiet_from, quiet_to = draw(st.integers(0, 1439)), draw(st.integers(0, 1439))
    wide = NudgePrefs((0,), 0, 0)
    bare = wide if quiet_from == quiet_to else None
    loud = [m for m in range(0, 1440, 5) if bare or not _quiet(m, quiet_from, quiet_to)]
    if not loud:
        loud, quiet_from, quiet_to = [150, 1080], 0, 0
    slots = draw(st.lists(st.sampled_from(loud), min_size=1, max_size=3, unique=True))
    return NudgePrefs(tuple(slots), quiet_from, quiet_to, draw(st.sampled_from(ZONES)))


def _quiet(minute: int, start: int, end: int) -> bool:
    return start <= minute < end if start <= end else minute >= start or minute < end


def live(keeper: Keeper, start: date) -> None:
    """Run a year: every day up to three moments at which the keeper acts or the phone goes off or on."""
    phone = keeper.phone
    now_ms = int(datetime(start.year, start.month, start.day, tzinfo=UTC).timestamp() * 1000)
    end_ms = now_ms + DAYS * DAY_MS
    keeper.replan(now_ms)
    while now_ms < end_ms:
        stop_ms = now_ms + keeper.rnd.randint(1, 2 * DAY_MS // 3)
        while (alarm := phone.next_ms(now_ms)) is not None and alarm <= stop_ms:
            now_ms = alarm
            check_then_wake(keeper, now_ms)
        now_ms = stop_ms
        if keeper.rnd.random() < 0.1:
            phone.is_on = not phone.is_on
        elif phone.is_on:
            keeper.act(now_ms)
        check_then_wake(keeper, now_ms)


def check_then_wake(keeper: Keeper, now_ms: int) -> None:
    """Wake the phone; whatever it posts must be true at this moment."""
    phone = keeper.phone
    before = len(phone.posts)
    phone.wake(now_ms)
    for post in phone.posts[before:]:
        due = {box for box, on in keeper.due_on.items() if on <= post.wall.date()}
        assert set(post.said["boxes"]) <= due, "a nudge named a box that is not due"
        assert post.said["n_boxes"] <= len(due)
        if post.said["slot"] == 1:
            assert post.said["n_boxes"] == len(due)
        assert not _quiet(post.wall.hour * 60 + post.wall.minute, keeper.prefs.quiet_from, keeper.prefs.quiet_to)
        assert post.digest.startswith(post.wall.date().isoformat()), "a nudge came on another day than its own"


@settings(deadline=None, max_examples=6, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(prefs(), st.sampled_from(STARTS), st.integers(0, 2**32))
def test_year_then_never_too_many_nor_twice_nor_stale_nor_in_quiet_hours(
    wanted: NudgePrefs, start: date, seed: int
) -> None:
    rnd = random.Random(seed)
    due_on = {f"B{n:02d}": start + timedelta(days=rnd.randint(-3, 20)) for n in range(1, 5)}
    keeper = Keeper(rnd, wanted, Phone(ZoneInfo(wanted.zone)), due_on, {})
    live(keeper, start)
    check_days(keeper)


def check_days(keeper: Keeper) -> None:
    """No more than the slots and what Later brought back, never over three, each time a date is lived.

    A journey over the date line repeats a date: posts of one id then lie 20 hours apart or more.
    """
    posts = keeper.phone.posts
    for day in {post.wall.date() for post in posts}:
        of_day = [post for post in posts if post.wall.date() == day]
        n_lived, n_later = 1, 0
        for digest in {post.digest for post in of_day}:
            at = [post.at_ms for post in of_day if post.digest == digest]
            n_apart = sum(1 for a, b in pairwise(at) if b - a >= 20 * 3_600_000)
            pressed = keeper.n_later.get(digest, 0)
            assert len(at) <= 1 + n_apart + pressed, "posted twice without Later"
            n_lived, n_later = max(n_lived, 1 + n_apart), n_later + pressed
        assert len(of_day) <= n_lived * len(keeper.prefs.slots) + n_later
        assert len(of_day) <= n_lived * MAX_SLOTS


@pytest.mark.parametrize("name", ZONES)
def test_year_when_nothing_is_ever_done_then_one_a_day_and_none_lost(name: str) -> None:
    """A box that stays due: with a plan every ten days, every local day of the year has its nudge."""
    zone, start = ZoneInfo(name), date(2026, 1, 1)
    keeper = Keeper(random.Random(1), NudgePrefs(zone=name), Phone(zone), {"B01": start}, {})
    now_ms = int(datetime(2026, 1, 1, 12, tzinfo=zone).timestamp() * 1000)
    for _ in range(36):
        keeper.replan(now_ms)
        stop_ms = now_ms + 10 * DAY_MS
        while (alarm := keeper.phone.next_ms(now_ms)) is not None and alarm <= stop_ms:
            now_ms = alarm
            keeper.phone.wake(now_ms)
        now_ms = stop_ms
    assert [post.wall.date() for post in keeper.phone.posts] == [start + timedelta(days=n) for n in range(360)]
    assert {post.wall.strftime("%H:%M") for post in keeper.phone.posts} == {"18:00"}


def test_phone_when_it_was_off_at_the_hour_then_posts_within_the_grace_and_not_in_quiet_hours() -> None:
    """The control of the simulation: off at six, on at half past eight it posts, on at ten it does not."""
    zone, day = ZoneInfo("Europe/Berlin"), date(2026, 5, 4)
    for hour, minute, expected in ((20, 30, 1), (22, 0, 0)):
        keeper = Keeper(random.Random(1), NudgePrefs(zone="Europe/Berlin"), Phone(zone), {"B01": day}, {})
        keeper.replan(int(datetime(2026, 5, 4, 12, tzinfo=zone).timestamp() * 1000))
        keeper.phone.wake(int(datetime(2026, 5, 4, hour, minute, tzinfo=zone).timestamp() * 1000))
        assert len(keeper.phone.posts) == expected


@settings(deadline=None, max_examples=25)
@given(prefs(), st.sampled_from(STARTS), st.integers(0, 400), st.integers(0, DAY_MS), st.integers(0, 5))
def test_any_plan_then_as_the_schema_says_and_out_of_quiet_hours(
    wanted: NudgePrefs, start: date, n: int, into_ms: int, n_boxes: int
) -> None:
    zone = ZoneInfo(wanted.zone)
    now_ms = int(datetime(start.year, start.month, start.day, tzinfo=UTC).timestamp() * 1000) + n * DAY_MS + into_ms
    keeper = Keeper(random.Random(n), wanted, Phone(zone), {f"B{i}": day_of(now_ms, zone) for i in range(n_boxes)}, {})
    made = plan(keeper.boxes(), wanted, now_ms, zone)
    jsonschema.validate(json.loads(plan_json(made)), SCHEMA, cls=jsonschema.Draft202012Validator)
    assert len({one.id for one in made.digests}) == len(made.digests)
    for one in made.digests:
        minute = int(one.at_local[11:13]) * 60 + int(one.at_local[14:])
        assert not wanted.is_quiet(minute)
        assert one.at_local < one.until_local
        assert one.at_ms > now_ms
        assert one.day == day_of(one.at_ms, zone)


class ForgetfulPhone(Phone):
    """A phone that starts anew a minute later without a memory: the control that must be caught."""

    def wake(self, now_ms: int) -> None:
        super().wake(now_ms)
        self.known.clear()
        super().wake(now_ms + 60_000)


def test_year_when_the_phone_forgets_what_it_posted_then_the_check_sees_it() -> None:
    start, zone = date(2026, 1, 1), ZoneInfo("Europe/Berlin")
    due_on = {"B01": start}
    keeper = Keeper(random.Random(3), NudgePrefs(zone="Europe/Berlin"), ForgetfulPhone(zone), due_on, {})
    live(keeper, start)
    with pytest.raises(AssertionError, match="posted twice without Later"):
        check_days(keeper)
