"""One line of glow-worms from autumn to the next summer's hatch, as its keeper sees it, on the fake device.

The days follow the starting values of the common glow-worm's profile; where an interval is asserted it is
read from the profile, so that the story still holds when a keeper's numbers change.
"""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest

from boxside.actions import list_due, post_nudge, show_box, void_event
from boxside.actions.context import profile
from boxside.actions.log_event import log_all
from boxside.core.values.event import Draft
from boxside.core.values.ids import uuid7
from boxside.core.values.stages import Stage
from boxside.device.fake import FakeNudges
from boxside.store import reading
from tests.actions.keeping import EVENING, Keeper

COHORT, CLUTCH = uuid7(1, 1, 1), uuid7(1, 1, 2)
BOXES = {code: uuid7(1, 2, n) for n, code in enumerate(("B01", "B02", "B03", "B04"))}


def window(keeper: Keeper, key: str) -> int:
    return profile(keeper.services).window(key).on


def next_day(keeper: Keeper, label: str, task: str) -> date:
    return keeper.dues(label)[task].on


def shown(keeper: Keeper, label: str) -> str:
    return show_box.box_view(keeper.services, keeper.id(label)).who


def stages(keeper: Keeper, label: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for line, n in reading.lines(keeper.services.store, [keeper.id(label)])[keeper.id(label)]:
        found[line.stage.value] = found.get(line.stage.value, 0) + n
    return found


@pytest.fixture
def line(keeper: Keeper) -> Keeper:
    """A keeper with one young line in B01 and three empty boxes, on 20 August 2025."""
    keeper.stand("2025-08-20")
    drafts = [Draft("box_made", "box", box, {"label": code}) for code, box in BOXES.items()]
    started = {"name": "2025 A", "origin": "founders", "species": "lampyris_noctiluca", "stage": "larva"}
    drafts.append(Draft("cohort_started", "cohort", COHORT, dict(started)))
    stocked = {"cohort": COHORT, "n": 40, "stage": "larva", "instar": 1, "quality": "counted"}
    drafts.append(Draft("stocked", "box", BOXES["B01"], dict(stocked)))
    log_all(keeper.services, drafts)
    return keeper


def feed_through(keeper: Keeper, label: str, until: str) -> int:
    """Do everything that is due at a box on every day it is due, up to a day; return how many feedings that were."""
    n, end = 0, date.fromisoformat(until)
    day = list_due.today(keeper.services)
    closing = {
        "feed": "fed", "meal_out": "meal_taken_out", "moisture": "misted", "clean": "cleaned",
        "renew": "substrate_renewed", "watch_pupation": "looked",
    }  # fmt: skip
    while day < end:
        keeper.stand(day)
        for task, due in keeper.dues(label).items():
            if due.on <= day and task in closing:
                keeper.log(label, closing[task])
                n += task == "feed"
        left = [task for task, due in keeper.dues(label).items() if due.on <= day and task in closing]
        assert left == [], day
        day += timedelta(days=1)
    keeper.stand(end)
    return n


def test_the_year_of_a_line(line: Keeper) -> None:
    keeper = line
    # The evening after they came: a first meal within the week, nothing late, the headcount is an estimate.
    assert shown(keeper, "B01") == "About 40 larvae, instar 1"
    assert date(2025, 8, 20) <= next_day(keeper, "B01", "feed") <= date(2025, 8, 26)

    # A first meal, with everything else of the same stop in one visit; the nudge has nothing left to say.
    keeper.stand("2025-08-26", 17 * 60)
    view = keeper.round()
    assert (view.label, view.headline) == ("B01", "Feed")
    assert view.due[0].task == "feed"
    for kind in ("misted", "fed"):
        saved = keeper.log("B01", kind, visit=view.visit)
    assert saved.box_done
    assert post_nudge.post_nudge(keeper.services).title == ""
    rows = show_box.box_view(keeper.services, BOXES["B01"]).history
    assert {row.visit for row in rows[:2]} == {view.visit}

    # Three days on the leftovers are due; that evening's nudge says so, and says why.
    keeper.stand("2025-08-29", 18 * 60)
    assert next_day(keeper, "B01", "meal_out") == date(2025, 8, 26) + timedelta(days=window(keeper, "meal_out"))
    said = post_nudge.post_nudge(keeper.services)
    assert said.title == "B01 is due"
    assert "take the meal out" in said.lines[0]
    assert "fed on 26 August" in said.lines[0]
    keeper.log("B01", "meal_taken_out")
    assert post_nudge.nudge_view(keeper.services).title == ""

    # Autumn: fed as often as young larvae are, counted, one found dead, one missing.
    n = feed_through(keeper, "B01", "2025-10-08")
    assert n == pytest.approx((date(2025, 10, 8) - date(2025, 8, 26)).days / window(keeper, "feeding.young"), abs=1)
    keeper.log("B01", "died", n=1, cause="failed_moult")
    keeper.log("B01", "count", n=38)
    assert shown(keeper, "B01") == "38 larvae, instar 1"
    totals = keeper.totals()
    assert (totals.came_in, totals.present, totals.dead, totals.unaccounted) == (40, 38, 1, 1)

    # They moult, and from the third instar on they are fed half as often: the reason says so.
    for instar in (2, 3):
        keeper.log("B01", "moulted", to_instar=instar)
    assert shown(keeper, "B01") == "38 larvae, instar 3"
    keeper.log("B01", "fed")
    due = keeper.dues("B01")["feed"]
    assert due.on == date(2025, 10, 8) + timedelta(days=window(keeper, "feeding.half_grown"))
    assert "half-grown larvae" in due.reasons[0].text

    # Half go to a fresh box; both are cared for from now on, and nobody is lost on the way.
    keeper.log("B01", "transfer", to_box=BOXES["B02"], n=19)
    assert (keeper.n("B01"), keeper.n("B02")) == (19, 19)
    assert "feed" in keeper.dues("B02")
    assert keeper.totals().present == 38


def test_rest_and_waking(line: Keeper) -> None:
    keeper = line
    feed_through(keeper, "B01", "2025-11-25")
    keeper.log("B01", "rest_began", until="2026-03-05")
    # In the rest nothing is fed, cleaned or renewed; moisture goes on, and the day of waking is known.
    assert set(keeper.dues("B01")) - {"meal_out"} == {"moisture", "wake"}
    assert next_day(keeper, "B01", "wake") == date(2026, 3, 5) + timedelta(days=window(keeper, "wake"))
    assert "in the winter rest" in keeper.dues("B01")["moisture"].reasons[0].text
    keeper.stand("2026-01-10")
    assert "feed" not in {due.task for _, tasks in list_due.due_today(keeper.services) for due in tasks}
    keeper.log("B01", "misted")

    # On the day the nudge announces it.
    keeper.stand("2026-03-05", 18 * 60)
    keeper.log("B01", "misted")
    assert "end the winter rest" in post_nudge.post_nudge(keeper.services).lines[0]
    keeper.log("B01", "rest_ended")
    due = keeper.dues("B01")
    assert "wake" not in due
    assert due["feed"].on == date(2026, 3, 5) + timedelta(days=window(keeper, "wake_meal"))
    assert any("Winter rest ended on 5 March" in reason.text for reason in due["feed"].reasons)

    # Ended by mistake: undo puts it back to rest as if nothing had been.
    void_event.undo_last(keeper.services)
    assert set(keeper.dues("B01")) - {"meal_out"} == {"moisture", "wake"}


@pytest.fixture
def grown(line: Keeper) -> Keeper:
    """The line's last twelve larvae, grown, on 1 June 2026."""
    line.log("B01", "count", n=12)
    for instar in range(2, 6):
        line.log("B01", "moulted", to_instar=instar)
    line.log("B01", "fed")
    line.stand("2026-05-28")
    line.log("B01", "substrate_renewed")
    line.log("B01", "fed")
    line.stand("2026-06-01")
    line.log("B01", "meal_taken_out")
    return line


def test_pupation_pairing_laying_and_hatch(grown: Keeper) -> None:
    keeper = grown
    # Prepupae are left in peace: no food for them, but for those who still eat.
    keeper.log("B01", "prepupa", n=10)
    assert stages(keeper, "B01") == {"larva": 2, "prepupa": 10}
    assert "feed" in keeper.dues("B01")
    keeper.log("B01", "transfer", to_box=BOXES["B02"], n=2, stage="larva")
    assert stages(keeper, "B02") == {"larva": 2}
    assert "feed" not in keeper.dues("B01")

    # They pupate; the sexes are told apart, and are to be parted before the males emerge.
    keeper.stand("2026-06-08")
    keeper.log("B01", "pupated", n=10)
    assert next_day(keeper, "B01", "separate_sexes") <= date(2026, 6, 10)
    assert "not all sexed" in keeper.dues("B01")["separate_sexes"].reasons[0].text
    keeper.log("B01", "sexed", n_female=6, n_male=4)
    assert "4 male" in shown(keeper, "B01")
    assert "6 female" in shown(keeper, "B01")
    assert "separate_sexes" in keeper.dues("B01"), "sexed, and still together"
    keeper.log("B01", "transfer", to_box=BOXES["B03"], n=4, sex="male")
    assert "separate_sexes" not in keeper.dues("B01")
    assert "separate_sexes" not in keeper.dues("B03")

    # Every day of the weeks in which they may emerge they are watched.
    low, _ = profile(keeper.services).duration_days(Stage.PUPA)
    watch = keeper.dues("B01")["watch_emergence"]
    assert date(2026, 6, 8) <= watch.on <= date(2026, 6, 8) + timedelta(days=low + 4)
    keeper.stand("2026-06-18")
    keeper.log("B03", "emerged", n=4, to_sex="male")
    keeper.log("B01", "emerged", n=5, to_sex="female")
    assert stages(keeper, "B01") == {"adult": 5, "pupa": 1}

    # A female glows: the males are to come the same evening, before all else.
    keeper.stand("2026-06-19", 22 * 60)
    for label in ("B01", "B02", "B03"):
        keeper.log(label, "looked")
        keeper.log(label, "substrate_renewed")
    keeper.log("B02", "fed")
    keeper.log("B01", "glowing", n=2)
    first = keeper.round()
    assert (first.label, first.headline) == ("B01", "Introduce males")
    assert "a female glowed on 19 June" in first.why
    keeper.log("B01", "introduced", from_box=BOXES["B03"], n=4)
    assert (keeper.n("B01"), keeper.n("B03")) == (10, 0)
    assert "introduce" not in keeper.dues("B01")
    assert next_day(keeper, "B01", "end_pairing") == date(2026, 6, 19) + timedelta(days=window(keeper, "end_pairing"))

    # Eggs: a clutch of its own, with its parents' cohort behind it; the pair is parted.
    keeper.stand("2026-06-23")
    begun = {"name": "2026 A1", "origin": "laid", "species": "lampyris_noctiluca", "stage": "egg"}
    laid = {"cohort": CLUTCH, "n": 70, "low": 60, "high": 80}
    log_all(
        keeper.services,
        [
            Draft("cohort_started", "cohort", CLUTCH, {**begun, "parents": [{"cohort": COHORT, "sex": "female"}]}),
            Draft("laid", "box", BOXES["B01"], dict(laid)),
        ],
    )
    assert next_day(keeper, "B01", "end_pairing") == date(2026, 6, 23)
    keeper.log("B01", "separated", to_box=BOXES["B03"])
    assert keeper.n("B03") == 4
    assert "end_pairing" not in keeper.dues("B01")
    assert keeper.totals().came_in == 110

    # The spent die; the clutch is watched from shortly before the first can hatch.
    keeper.stand("2026-07-02")
    keeper.log("B01", "died", n=5, stage="adult", cause="age")
    keeper.log("B03", "died", n=4, cause="age")
    keeper.log("B01", "died", n=1, stage="pupa")
    assert stages(keeper, "B01") == {"egg": 70}
    low, _ = profile(keeper.services).duration_days(Stage.EGG)
    watch = keeper.dues("B01")["watch_hatch"]
    assert date(2026, 6, 23) + timedelta(days=low - 7) <= watch.on <= date(2026, 6, 23) + timedelta(days=low)
    assert "the small escape" in watch.reasons[0].text

    # They hatch over some days, more than were estimated: the estimate gives way, nobody is called surplus.
    keeper.stand("2026-07-25")
    keeper.log("B01", "hatched", n=50)
    assert stages(keeper, "B01") == {"egg": 20, "larva": 50}
    first_meal = keeper.dues("B01")["feed"]
    assert first_meal.on <= date(2026, 7, 25) + timedelta(days=5)
    keeper.stand("2026-07-27")
    keeper.log("B01", "hatched", n=24)
    assert stages(keeper, "B01") == {"larva": 74}
    assert "watch_hatch" not in keeper.dues("B01")
    totals = keeper.totals()
    assert totals.holds
    assert totals.came_in == 40 + 74, "founders and the young that came out"
    assert "surplus" not in {account for _, account, _ in reading.balances(keeper.services.store)}
    facts = dict(show_box.box_view(keeper.services, BOXES["B01"]).facts)
    assert (facts["Cohort"], facts["Dead"]) == ("2026 A1", "5 adults, 1 pupa")


def test_the_phone_is_told_ahead_and_after_every_act(line: Keeper) -> None:
    """The plan that lies on the phone always says what the round would say on that day."""
    keeper = line
    part = keeper.services.device.nudges
    assert isinstance(part, FakeNudges)
    keeper.stand("2025-08-21", 9 * 60)
    for kind in ("looked", "fed", "meal_taken_out"):
        post_nudge.arm_plan(keeper.services)
        plan = json.loads(part.plans[-1])
        for digest in plan["digests"][:12]:
            day = date.fromisoformat(digest["at"][:10])
            due = list_due.due_json(keeper.services, day)["boxes"]
            assert isinstance(due, list)
            labels = list(dict.fromkeys(row["box"] for row in due))
            assert digest["n_boxes"] == len(labels), (kind, day)
            assert digest["boxes"] == labels[: len(digest["boxes"])], (kind, day)
        keeper.log("B01", kind)
        keeper.wait(1)
    assert len(part.plans) == 3
    assert len(set(part.plans)) == 3, "replanned after each act"


def test_hungry_larvae_are_nudged_sooner_and_plump_ones_later(line: Keeper) -> None:
    keeper = line
    keeper.stand("2025-08-21", EVENING)
    keeper.log("B01", "fed")
    on = next_day(keeper, "B01", "feed")
    keeper.stand("2025-08-25")
    keeper.log("B01", "appetite", appetite="searching")
    due = keeper.dues("B01")["feed"]
    assert due.on == date(2025, 8, 25)
    assert "Searching along the edges on 25 August" in due.reasons[-1].text
    assert due.reasons[-1].days == (date(2025, 8, 25) - on).days
    void_event.undo_last(keeper.services)
    assert next_day(keeper, "B01", "feed") == on
    keeper.stand(on)
    keeper.log("B01", "appetite", appetite="plump")
    assert next_day(keeper, "B01", "feed") > on
    assert keeper.due_labels() == ["B01"], "moisture is still due"
    assert {due.task for _, tasks in list_due.due_today(keeper.services) for due in tasks} == {"meal_out", "moisture"}
