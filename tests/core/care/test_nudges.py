"""The nudge plan: what comes when, what it says, and what the phone then does with it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import jsonschema
import pytest

from boxside.core.care import dues, plan, plan_json
from boxside.core.values.due import Due, Reason
from boxside.core.values.errors import EntryError
from boxside.core.values.moments import local_ms
from boxside.core.values.nudge import BoxDues, Digest, LaterMove, NudgePlan, NudgePrefs, Posted
from tests.core.care.boxes import GLOW_WORM, a_box, larvae, seen

SCHEMA = json.loads((Path(__file__).parents[3] / "shared" / "nudge-plan.schema.json").read_text(encoding="utf-8"))
BERLIN = ZoneInfo("Europe/Berlin")
NOON, EVENING = 12 * 60, 18 * 60
TODAY = date(2026, 5, 4)


def a_due(task: str, on: date, box: str = "b1", urgency: int = 20, late_after: int = 2) -> Due:
    reason = Reason("rule", None, 7, "Last fed on 27 April; young larvae eat about every week.")
    return Due(box, task, on, on, on + timedelta(days=late_after), (reason,), urgency)


def boxes(*found: Due) -> list[BoxDues]:
    """One box a due, B01 onwards."""
    return [
        BoxDues(due.box, f"B{i:02d}", "12 young larvae", (replace(due, box=f"b{i}"),)) for i, due in enumerate(found, 1)
    ]


def planned(
    found: list[BoxDues],
    day: date = TODAY,
    minute: int = NOON,
    prefs: NudgePrefs | None = None,
    posted: tuple[Posted, ...] = (),
) -> NudgePlan:
    prefs = prefs or NudgePrefs(zone="Europe/Berlin")
    return plan(found, prefs, local_ms(day, minute, ZoneInfo(prefs.zone)), ZoneInfo(prefs.zone), posted)


def at(made: NudgePlan, digest: str) -> Digest | None:
    return next((one for one in made.digests if one.id == digest), None)


def test_plan_when_something_is_due_then_one_digest_a_day_for_sixty_days() -> None:
    made = planned(boxes(a_due("feed", TODAY)))
    assert [one.day for one in made.digests] == [TODAY + timedelta(days=n) for n in range(61)]
    assert {one.at_local[11:] for one in made.digests} == {"18:00"}
    assert made.digests[-1].lines[-1] == "Reminders end here: open Boxside to plan further."


def test_plan_when_nothing_is_due_yet_then_silence_until_then() -> None:
    made = planned(boxes(a_due("feed", TODAY + timedelta(days=9))))
    assert made.digests[0].day == TODAY + timedelta(days=9)
    assert planned([]).digests == ()


def test_digest_then_says_who_and_why() -> None:
    made = planned(boxes(a_due("feed", date(2026, 5, 3))))
    first = made.digests[0]
    assert first.title == "B01 is due"
    assert first.brief == "1 box is due"
    assert first.lines == (
        "B01, 12 young larvae: feed. Due since Sunday: last fed on 27 April; young larvae eat about every week.",
    )


def test_digest_when_many_boxes_then_the_rest_is_counted_and_the_young_come_first() -> None:
    made = planned(boxes(*(a_due("feed", TODAY, urgency=20 + n) for n in range(7))))
    first = made.digests[0]
    assert first.title == "B07, B06, B05 and 4 more are due"
    assert len(first.lines) == 5
    assert first.lines[-1] == "and 3 more"
    assert (first.n_boxes, first.boxes) == (7, ("B07", "B06", "B05", "B04"))


def test_digest_when_a_box_is_late_then_it_comes_before_the_young() -> None:
    late = a_due("clean", TODAY - timedelta(days=9), urgency=1)
    made = planned(boxes(a_due("feed", TODAY, urgency=29), late))
    assert made.digests[0].boxes == ("B02", "B01")
    assert "7 days late" in made.digests[0].lines[0]


def test_digest_when_a_box_has_several_tasks_then_one_line() -> None:
    several = BoxDues("b1", "B01", "", tuple(a_due(task, TODAY) for task in ("feed", "meal_out", "clean", "renew")))
    made = planned([several])
    assert made.digests[0].lines[0].startswith("B01: clean, feed, 2 more. Due today:")


def test_plan_when_slot_is_past_and_nothing_was_posted_then_tomorrow() -> None:
    made = planned(boxes(a_due("feed", TODAY)), minute=EVENING)
    assert made.digests[0].day == TODAY + timedelta(days=1)


def test_plan_when_posted_and_still_due_then_updated_in_place() -> None:
    posted = (Posted("2026-05-04.1", local_ms(TODAY, EVENING, BERLIN)),)
    made = planned(boxes(a_due("feed", TODAY)), minute=EVENING + 5, posted=posted)
    today = at(made, "2026-05-04.1")
    assert today is not None
    assert today.silent
    assert made.withdraw == ()


def test_plan_when_posted_and_all_is_done_then_withdrawn() -> None:
    posted = (Posted("2026-05-04.1", local_ms(TODAY, EVENING, BERLIN)),)
    made = planned(boxes(a_due("feed", TODAY + timedelta(days=7))), minute=EVENING + 5, posted=posted)
    assert made.withdraw == ("2026-05-04.1",)
    assert at(made, "2026-05-04.1") is None


def test_plan_when_yesterdays_digest_still_shows_then_withdrawn() -> None:
    posted = (Posted("2026-05-03.1", local_ms(TODAY - timedelta(days=1), EVENING, BERLIN)),)
    assert planned(boxes(a_due("feed", TODAY)), posted=posted).withdraw == ("2026-05-03.1",)


def test_plan_when_a_wrong_clock_posted_next_week_then_that_week_is_not_lost() -> None:
    """Posted while the clock was eight days ahead: back in order, the day itself has its nudge again."""
    ahead = date(2026, 5, 12)
    posted = (Posted("2026-05-12.1", local_ms(ahead, EVENING, BERLIN)),)
    made = planned(boxes(a_due("feed", TODAY)), posted=posted)
    assert made.forget == ("2026-05-12.1",)
    assert at(made, "2026-05-12.1") is not None


def test_plan_when_a_journey_west_brings_the_hour_back_then_not_twice() -> None:
    """Posted at six in Berlin; at noon of the same day in New York nothing more comes today."""
    prefs = NudgePrefs(zone="America/New_York")
    posted = (Posted("2026-05-04.1", local_ms(TODAY, EVENING, BERLIN)),)
    made = planned(boxes(a_due("feed", TODAY)), minute=NOON + 1, prefs=prefs, posted=posted)
    assert next(one.id for one in made.digests if not one.silent) == "2026-05-05.1"


def test_plan_when_a_journey_brings_back_yesterday_then_todays_digest_stays_while_it_is_true() -> None:
    """Posted on the evening of the 5th in Kiritimati; in Niue it is still the evening of the 4th."""
    prefs = NudgePrefs(zone="Pacific/Niue")
    ahead = (Posted("2026-05-05.1", local_ms(date(2026, 5, 5), EVENING, ZoneInfo("Pacific/Kiritimati"))),)
    still_due = planned(boxes(a_due("feed", TODAY)), minute=EVENING + 1, prefs=prefs, posted=ahead)
    assert (still_due.withdraw, still_due.forget) == ((), ())
    all_done = planned(boxes(a_due("feed", date(2026, 5, 9))), minute=EVENING + 1, prefs=prefs, posted=ahead)
    assert all_done.withdraw == ("2026-05-05.1",)


def test_plan_when_nudges_are_not_wanted_then_nothing_and_all_withdrawn() -> None:
    posted = (Posted("2026-05-04.1", 0), Posted("2026-05-03.1", 0, showing=False))
    made = planned(boxes(a_due("feed", TODAY)), prefs=NudgePrefs(wanted=False), posted=posted)
    assert made.digests == ()
    assert made.withdraw == ("2026-05-04.1",)


def test_later_when_pressed_then_withdrawn_and_back_after_that_time() -> None:
    shown = local_ms(TODAY, EVENING, BERLIN)
    prefs = NudgePrefs(zone="Europe/Berlin", later=(LaterMove("2026-05-04.1", shown + 60_000, 90),))
    made = planned(
        boxes(a_due("feed", TODAY)), minute=EVENING + 1, prefs=prefs, posted=(Posted("2026-05-04.1", shown),)
    )
    again = at(made, "2026-05-04.1")
    assert (made.withdraw, made.forget) == ((), ("2026-05-04.1",))
    assert again is not None
    assert (again.at_local, again.silent) == ("2026-05-04T19:31", False)


def test_later_when_it_would_fall_into_quiet_hours_then_left_to_tomorrow() -> None:
    shown = local_ms(TODAY, EVENING, BERLIN)
    prefs = NudgePrefs(zone="Europe/Berlin", later=(LaterMove("2026-05-04.1", shown, 240),))
    made = planned(
        boxes(a_due("feed", TODAY)), minute=EVENING + 1, prefs=prefs, posted=(Posted("2026-05-04.1", shown - 1),)
    )
    assert at(made, "2026-05-04.1") is None
    assert made.digests[0].id == "2026-05-05.1"


def test_later_when_pressed_again_and_again_then_never_more_than_three_a_day() -> None:
    shown = local_ms(TODAY, EVENING, BERLIN)
    moves = tuple(LaterMove("2026-05-04.1", shown + n * 600_000, 10) for n in range(3))
    prefs = NudgePrefs(zone="Europe/Berlin", later=moves)
    assert at(planned(boxes(a_due("feed", TODAY)), minute=EVENING + 21, prefs=prefs), "2026-05-04.1") is None
    two = replace(prefs, later=moves[:2])
    assert at(planned(boxes(a_due("feed", TODAY)), minute=EVENING + 11, prefs=two), "2026-05-04.1") is not None


def test_slots_when_three_then_later_ones_only_repeat_what_is_late_or_belongs_to_dusk() -> None:
    prefs = NudgePrefs(slots=(480, 840, 1200), zone="Europe/Berlin")
    fresh = planned(boxes(a_due("feed", TODAY), a_due("introduce", TODAY, urgency=35)), minute=60, prefs=prefs)
    today = {one.slot: one for one in fresh.digests if one.day == TODAY}
    assert {slot: one.boxes for slot, one in today.items()} == {1: ("B02", "B01"), 3: ("B02",)}
    late = planned(boxes(a_due("feed", TODAY - timedelta(days=5))), minute=60, prefs=prefs)
    assert [one.slot for one in late.digests if one.day == TODAY] == [1, 2, 3]


@pytest.mark.parametrize(
    ("slots", "quiet"),
    [((), (0, 0)), ((60, 60), (0, 0)), ((1, 2, 3, 4), (0, 0)), ((1440,), (0, 0)), ((1380,), (1320, 420))],
)
def test_prefs_when_they_contradict_then_refused(slots: tuple[int, ...], quiet: tuple[int, int]) -> None:
    with pytest.raises(EntryError):
        NudgePrefs(slots=slots, quiet_from=quiet[0], quiet_to=quiet[1])


def test_clock_change_when_the_hour_is_skipped_then_moves_on_by_the_gap() -> None:
    """On 29 March 2026 Berlin's clocks go from 2:00 to 3:00: half past two becomes half past three."""
    prefs = NudgePrefs(slots=(150,), quiet_from=0, quiet_to=0, zone="Europe/Berlin")
    made = planned(boxes(a_due("feed", date(2026, 3, 20))), day=date(2026, 3, 28), prefs=prefs)
    skipped = at(made, "2026-03-29.1")
    assert skipped is not None
    assert skipped.at_local == "2026-03-29T03:30"
    assert skipped.at_ms == int(datetime(2026, 3, 29, 1, 30, tzinfo=UTC).timestamp() * 1000)


def test_clock_change_when_the_hour_comes_twice_then_once_at_the_first() -> None:
    """On 25 October 2026 half past two comes twice in Berlin, first at 0:30 UTC."""
    prefs = NudgePrefs(slots=(150,), quiet_from=0, quiet_to=0, zone="Europe/Berlin")
    made = planned(boxes(a_due("feed", date(2026, 10, 20))), day=date(2026, 10, 24), prefs=prefs)
    twice = [one for one in made.digests if one.day == date(2026, 10, 25)]
    assert [one.at_ms for one in twice] == [int(datetime(2026, 10, 25, 0, 30, tzinfo=UTC).timestamp() * 1000)]


def test_clock_change_when_a_skipped_slot_lands_in_quiet_hours_then_waits_for_their_end() -> None:
    prefs = NudgePrefs(slots=(150,), quiet_from=180, quiet_to=360, zone="Europe/Berlin")
    made = planned(boxes(a_due("feed", date(2026, 3, 20))), day=date(2026, 3, 28), prefs=prefs)
    moved = at(made, "2026-03-29.1")
    assert moved is not None
    assert moved.at_local == "2026-03-29T06:00"


def test_clock_change_when_it_brings_two_slots_together_then_one_digest() -> None:
    """Half past two and half past three are one moment on 29 March 2026 in Berlin."""
    prefs = NudgePrefs(slots=(150, 210), quiet_from=0, quiet_to=0, zone="Europe/Berlin")
    made = planned(boxes(a_due("feed", date(2026, 3, 1))), day=date(2026, 3, 28), prefs=prefs)
    assert [one.id for one in made.digests if one.day == date(2026, 3, 29)] == ["2026-03-29.1"]
    assert [one.slot for one in made.digests if one.day == date(2026, 3, 30)] == [1, 2]


def test_zone_when_it_leaves_out_a_day_then_no_digest_for_that_day() -> None:
    """Apia went from 29 to 31 December 2011."""
    prefs = NudgePrefs(zone="Pacific/Apia")
    made = planned(boxes(a_due("feed", date(2011, 12, 20))), day=date(2011, 12, 28), prefs=prefs)
    days = [one.day for one in made.digests][:4]
    assert days == [date(2011, 12, 28), date(2011, 12, 29), date(2011, 12, 31), date(2012, 1, 1)]


def test_plan_json_then_canonical_and_as_the_schema_says() -> None:
    posted = (Posted("2026-05-04.1", local_ms(TODAY, EVENING, BERLIN)), Posted("2026-05-01.1", 0))
    made = planned(boxes(*(a_due("feed", TODAY) for _ in range(6))), minute=EVENING + 5, posted=posted)
    text = plan_json(made)
    read = json.loads(text)
    jsonschema.validate(read, SCHEMA, cls=jsonschema.Draft202012Validator)
    assert text == json.dumps(read, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert read["digests"][0]["at"] == "2026-05-04T18:00"
    assert read["digests"][0]["until"] == "2026-05-04T21:30"
    assert read["digests"][0]["silent"] is True
    assert (read["withdraw"], read["forget"]) == (["2026-05-01.1"], [])
    assert read["quiet"] == {"from": "21:30", "to": "07:00"}


@pytest.mark.parametrize("spoilt", [{"version": 2}, {"quiet": {"from": "24:00", "to": "07:00"}}, {"withdraw": ["x"]}])
def test_schema_when_a_plan_is_wrong_then_refuses_it(spoilt: dict[str, object]) -> None:
    read = {**json.loads(plan_json(planned(boxes(a_due("feed", TODAY))))), **spoilt}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(read, SCHEMA, cls=jsonschema.Draft202012Validator)


def test_plan_from_the_rules_then_reads_like_a_keeper() -> None:
    facts = a_box(larvae(1), fed=seen("fed", 10), misted=seen("misted", 11))
    box = BoxDues(facts.box, facts.label, "12 young larvae", dues(facts, GLOW_WORM))
    made = planned([box], day=date(2026, 3, 18))
    assert made.digests[0].lines == (
        "B01, 12 young larvae: take the meal out, feed, 1 more. "
        "3 days late: fed on 11 March; leftovers come out after about 3 days.",
    )
