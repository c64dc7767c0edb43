"""Hand-written stories of one phone each; May 4 2026 is a Monday, quiet hours are 21:30 to 07:00 unless said."""

from __future__ import annotations

from boxside.core.values.nudge import NudgePrefs
from buildspec.golden import Step, Story

_BERLIN = NudgePrefs(zone="Europe/Berlin")
_THREE = NudgePrefs(slots=(9 * 60, 14 * 60, 18 * 60), zone="Europe/Berlin")
_NIGHT = NudgePrefs(slots=(150,), quiet_from=5 * 60, quiet_to=6 * 60, zone="Europe/Berlin")
_LATE_EVENING = NudgePrefs(slots=(21 * 60,), zone="Europe/Berlin")
_MAY_4 = ("2026-05-04",)
_TOMORROW = "next 2026-05-05T18:00"

STORIES: dict[str, Story] = {
    "evening": Story(
        "One box is due: its nudge comes at six in the evening, once, and again the next day.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T17:59", "next 18:00"),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}"),
            Step("2026-05-04T18:10", _TOMORROW),
            Step("2026-05-04T23:00", _TOMORROW, swiped=(1,)),
            Step("2026-05-05T18:40", "post 1; next 2026-05-06T18:00"),
        ),
    ),
    "nothing_due": Story(
        "A box that is due only in five days: no nudge, no alarm within the plan's three days.",
        _BERLIN,
        (Step("2026-05-04T12:00", "", due=("2026-05-09",)), Step("2026-05-04T18:00", "")),
    ),
    "off_at_the_hour": Story(
        "Off at six, started at half past eight it posts; started at ten, in the quiet hours, it does not.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T20:30", f"post 1; {_TOMORROW}", boot=2),
            Step("2026-05-05T22:00", "next 2026-05-06T18:00", boot=3),
            Step("2026-05-06T07:30", "next 18:00", boot=3),
        ),
    ),
    "done": Story(
        "What the nudge named is done: it is withdrawn without another.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}"),
            Step("2026-05-04T18:20", "cancel 1", due=("2026-05-11",)),
            Step("2026-05-04T18:30", ""),
        ),
    ),
    "in_place": Story(
        "One of two boxes is done: the nudge that shows is replaced without a sound, once; a swiped one stays away.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=("2026-05-04", "2026-05-04")),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}"),
            Step("2026-05-04T18:20", f"replace 1; {_TOMORROW}", due=("2026-05-04", "2026-05-12")),
            Step("2026-05-04T18:25", _TOMORROW),
            Step("2026-05-04T18:30", _TOMORROW, due=("2026-05-04", "2026-05-13"), swiped=(1,)),
        ),
    ),
    "later": Story(
        "Later brings it back an hour later, whether the app plans in between or not, and not twice.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}"),
            Step("2026-05-04T18:05", "next 19:05", later=1),
            Step("2026-05-04T18:30", "next 19:05", due=_MAY_4),
            Step("2026-05-04T19:05", f"post 1; {_TOMORROW}"),
            Step("2026-05-04T19:06", _TOMORROW),
            Step("2026-05-04T19:10", f"replace 1; {_TOMORROW}", due=("2026-05-03",)),
            Step("2026-05-04T19:20", "next 20:20", later=1),
            Step("2026-05-04T20:20", f"post 1; {_TOMORROW}"),
            Step("2026-05-04T20:25", _TOMORROW, later=1),
            Step("2026-05-04T21:25", _TOMORROW),
        ),
    ),
    "later_into_quiet": Story(
        "Later would fall into the quiet hours, whose end is tomorrow: it is gone for today.",
        _LATE_EVENING,
        (
            Step("2026-05-04T12:00", "next 21:00", due=_MAY_4),
            Step("2026-05-04T21:00", "post 1; next 2026-05-05T21:00"),
            Step("2026-05-04T21:10", "next 2026-05-05T21:00", later=1),
            Step("2026-05-04T22:10", "next 2026-05-05T21:00"),
        ),
    ),
    "three_slots": Story(
        "Three slots: the first names what is due, the others only what is late since 2 May.",
        _THREE,
        (
            Step("2026-05-04T08:00", "next 09:00", due=("2026-05-01",)),
            Step("2026-05-04T09:00", "post 1; next 14:00"),
            Step("2026-05-04T14:00", "post 2; next 18:00"),
            Step("2026-05-04T18:00", "post 3; next 2026-05-05T09:00"),
            Step("2026-05-04T18:10", "next 2026-05-05T09:00", later=1),
            Step("2026-05-04T19:10", "next 2026-05-05T09:00"),
        ),
    ),
    "spring_forward": Story(
        "29 March 2026 has no half past two in Berlin: it comes at half past three, on the day.",
        _NIGHT,
        (
            Step("2026-03-28T12:00", "next 2026-03-29T03:30", due=("2026-03-28",)),
            Step("2026-03-29T01:59", "next 03:30"),
            Step("2026-03-29T03:30", "post 1; next 2026-03-30T02:30"),
        ),
    ),
    "fall_back": Story(
        "25 October 2026 has two half past twos in Berlin: it comes at the first.",
        _NIGHT,
        (
            Step("2026-10-24T12:00", "next 2026-10-25T02:30", due=("2026-10-24",)),
            Step("2026-10-25T02:30", "post 1; next 2026-10-26T02:30"),
            Step("2026-10-25T02:30~", "next 2026-10-26T02:30"),
        ),
    ),
    "fall_back_late": Story(
        "It should come at half past two, an hour before clocks go back from three to two; late, at what reads 2:10 "
        "for the second time, it still comes.",
        _NIGHT,
        (
            Step("2026-10-24T12:00", "next 2026-10-25T02:30", due=("2026-10-24",)),
            Step("2026-10-25T02:10~", "post 1; next 2026-10-26T02:30"),
            Step("2026-10-25T02:35~", "next 2026-10-26T02:30"),
        ),
    ),
    "later_by_a_wrong_clock": Story(
        "Later, pressed while the clock was two days ahead, does not move that day's nudge once its day has come.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T12:10", "post 1; next 2026-05-07T18:00", clock="2026-05-06T18:30"),
            Step("2026-05-04T12:15", "next 2026-05-06T19:35", clock="2026-05-06T18:35", later=1, later_on="2026-05-06"),
            Step("2026-05-04T12:30", "next 18:00"),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}"),
            Step("2026-05-05T18:00", "post 1; next 2026-05-06T18:00"),
            Step("2026-05-06T18:00", "post 1; next 2026-05-07T18:00"),
        ),
    ),
    "journey_west": Story(
        "Flown from Berlin to New York at five: six in the evening is six there.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T11:00", "next 18:00", zone="America/New_York"),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}", zone="America/New_York"),
            Step("2026-05-05T00:10", "next 18:00", zone="Europe/Berlin"),
        ),
    ),
    "refused": Story(
        "Notifications are refused: nothing is posted, nothing counts as posted; allowed again, today's still comes.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4, allowed=False),
            Step("2026-05-04T18:00", _TOMORROW, allowed=False),
            Step("2026-05-04T19:00", f"post 1; {_TOMORROW}"),
        ),
    ),
    "clock_ahead": Story(
        "The clock is three days ahead for an hour: that day's nudge comes, is taken back, and comes on its day.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T12:10", "post 1; next 2026-05-07T18:00", clock="2026-05-06T18:30"),
            Step("2026-05-04T12:30", "cancel 1; next 18:00"),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}"),
            Step("2026-05-05T18:00", "post 1; next 2026-05-06T18:00"),
            Step("2026-05-06T18:00", "post 1; next 2026-05-07T18:00"),
        ),
    ),
    "clock_back": Story(
        "After the nudge the clock is a day behind for some minutes: it does not come a second time.",
        _BERLIN,
        (
            Step("2026-05-04T12:00", "next 18:00", due=_MAY_4),
            Step("2026-05-04T18:00", f"post 1; {_TOMORROW}"),
            Step("2026-05-04T18:05", "cancel 1; next 2026-05-04T18:00", clock="2026-05-03T18:05"),
            Step("2026-05-04T18:15", _TOMORROW),
            Step("2026-05-05T18:00", "post 1; next 2026-05-06T18:00"),
        ),
    ),
}
