"""What is due at a box, as a keeper would tell it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boxside.core.care import dues, why
from boxside.core.values.due import Due
from boxside.core.values.facts import BoxFacts, CohortFacts, Rest
from boxside.core.values.stages import Sex, Stage
from tests.core.care.boxes import GLOW_WORM, a_box, animals, day, larvae, one, seen


def due(facts: BoxFacts, task: str) -> Due | None:
    return one(dues(facts, GLOW_WORM), task)


def on(facts: BoxFacts, task: str) -> int:
    found = due(facts, task)
    assert found is not None, f"nothing due for {task}"
    return (found.on - day(0)).days


@pytest.mark.parametrize(("instar", "days"), [(1, 7), (2, 7), (3, 14), (4, 14), (5, 25), (6, 25), (0, 7)])
def test_feed_when_last_meal_known_then_due_by_band(instar: int, days: int) -> None:
    """Young larvae weekly, half-grown every two weeks, nearly grown every three to four."""
    assert on(a_box(larvae(instar), fed=seen("fed", 10)), "feed") == 10 + days


def test_feed_when_bands_mixed_then_youngest_decides() -> None:
    assert on(a_box(larvae(6), larvae(2), fed=seen("fed", 10)), "feed") == 17


@pytest.mark.parametrize("stage", [Stage.EGG, Stage.PREPUPA, Stage.PUPA, Stage.ADULT])
def test_feed_when_nothing_feeds_then_never(stage: Stage) -> None:
    assert due(a_box(animals(stage), fed=seen("fed", 10)), "feed") is None


def test_feed_when_hatched_since_last_meal_then_first_meal_within_days() -> None:
    """The cohort's hatch is the anchor until it is fed for the first time."""
    cohort = (CohortFacts("c1", hatched_on=day(20)),)
    assert on(a_box(larvae(1), cohorts=cohort), "feed") == 23
    assert on(a_box(larvae(1), larvae(5), cohorts=cohort, fed=seen("fed", 18)), "feed") == 23
    assert on(a_box(larvae(1), cohorts=cohort, fed=seen("fed", 21)), "feed") == 28


def test_feed_when_larvae_came_long_after_hatch_then_no_first_meal() -> None:
    """Half a year after the hatch nobody is due a first meal: the box's own first week counts."""
    facts = a_box(larvae(0), cohorts=(CohortFacts("c1", hatched_on=day(-180)),))
    assert 0 <= on(facts, "feed") <= 6


def test_feed_when_all_are_grown_then_food_is_offered_but_not_pressed() -> None:
    """The interval stays, the task is late only after twice the usual grace of three days."""
    found = due(a_box(larvae(6), fed=seen("fed", 10)), "feed")
    assert found is not None
    assert (found.on, found.latest) == (day(35), day(41))
    assert found.reasons[-1].rule == "near_pupation"
    mixed = due(a_box(larvae(6), larvae(4), fed=seen("fed", 10)), "feed")
    assert mixed is not None
    assert [reason.rule for reason in mixed.reasons] == ["feeding.half_grown"]


def test_feed_when_searching_then_due_the_day_it_was_seen() -> None:
    facts = a_box(larvae(3), fed=seen("fed", 10), appetite=seen("appetite", 15, appetite="searching"))
    found = due(facts, "feed")
    assert found is not None
    assert found.on == day(15)
    assert found.reasons[-1].days == -9
    assert why(found, day(16)) == "Due since Monday: searching along the edges on 16 March, so 9 days sooner."


def test_feed_when_searching_was_answered_by_a_meal_then_interval_counts() -> None:
    facts = a_box(larvae(3), fed=seen("fed", 15), appetite=seen("appetite", 15, 700, appetite="searching"))
    assert on(facts, "feed") == 29


@pytest.mark.parametrize(("sign", "hold"), [("plump", 4), ("leftovers", 3), ("refused", 2)])
def test_feed_when_sated_then_not_before_the_hold_is_over(sign: str, hold: int) -> None:
    facts = a_box(larvae(1), fed=seen("fed", 10), appetite=seen("appetite", 16, appetite=sign))
    found = due(facts, "feed")
    assert found is not None
    assert found.on == day(16 + hold)
    assert found.reasons[-1].days == 16 + hold - 17
    early = a_box(larvae(1), fed=seen("fed", 10), appetite=seen("appetite", 11, appetite=sign))
    assert on(early, "feed") == 17


@pytest.mark.parametrize(("share_pct", "hold"), [(100, 5), (50, 3), (10, 1), (None, 5)])
def test_feed_when_in_moult_then_later_by_share(share_pct: int | None, hold: int) -> None:
    facts = a_box(larvae(1), fed=seen("fed", 10), in_moult=seen("in_moult", 17, share_pct=share_pct))
    assert on(facts, "feed") == 17 + hold


@pytest.mark.parametrize(("mean_c", "days"), [(25.0, 14), (20.0, 14), (17.0, 16), (12.0, 20), (5.0, 21)])
def test_feed_when_area_cool_then_later_but_bounded(mean_c: float, days: int) -> None:
    """6 % of the interval for each degree below 20 °C, at most half: floor(14 * 0.18) = 2, 14 * 0.5 = 7."""
    assert on(a_box(larvae(3), fed=seen("fed", 10), mean_c=mean_c), "feed") == 10 + days


def test_feed_when_area_only_known_as_cool_then_later_by_fixed_share() -> None:
    assert on(a_box(larvae(3), fed=seen("fed", 10), cool=True), "feed") == 10 + 14 + 4
    assert on(a_box(larvae(3), fed=seen("fed", 10), cool=False), "feed") == 10 + 14


def test_feed_when_last_fed_about_days_ago_then_counts_from_then() -> None:
    facts = a_box(larvae(3), last_fed=seen("last_fed", 0, basis="about", days=5))
    found = due(facts, "feed")
    assert found is not None
    assert found.on == day(9)
    assert found.reasons[0].text.startswith("Last fed about 24 February")


def test_feed_when_several_meals_are_known_then_the_newest_meal_counts_not_the_newest_entry() -> None:
    """Entered on day 10, a remembered meal of day 5 does not undo the feeding of day 8."""
    fed, said = seen("fed", 8), seen("last_fed", 10, basis="about", days=5)
    assert on(a_box(larvae(1), fed=fed, last_fed=said), "feed") == 15


def test_feed_when_last_fed_unknown_then_spread_over_a_week_young_first() -> None:
    """Forty boxes on one evening: no day gets more than half of a band, and the young come first."""
    days = {
        instar: [
            on(
                a_box(larvae(instar), label=f"B{i:02d}", last_fed=seen("last_fed", 0, basis="unknown")),
                "feed",
            )
            for i in range(1, 41)
        ]
        for instar in (1, 3, 5)
    }
    assert all(0 <= n <= 6 for found in days.values() for n in found)
    assert all(max(found.count(n) for n in set(found)) == 10 for found in days.values())
    assert sum(days[1]) < sum(days[3]) < sum(days[5])


def test_winter_rest_when_begun_then_no_feeding_but_moisture_and_wake() -> None:
    facts = a_box(larvae(3), fed=seen("fed", 1), rest=Rest(day(20), day(110), "area", "r1"))
    assert due(facts, "feed") is None
    assert on(facts, "moisture") == 7
    wake = due(facts, "wake")
    assert wake is not None
    assert wake.on == day(110)
    assert "planned until 19 June" in why(wake, day(100))


def test_winter_rest_when_no_end_planned_then_wake_after_usual_length() -> None:
    assert on(a_box(larvae(3), rest=Rest(day(20))), "wake") == 140


def test_winter_rest_when_ended_then_first_meal_soon_and_old_hunger_forgotten() -> None:
    facts = a_box(
        larvae(3),
        fed=seen("fed", 1),
        appetite=seen("appetite", 8, appetite="searching"),
        rest_ended=seen("rest_ended", 120),
    )
    assert on(facts, "feed") == 122


def test_meal_out_when_warm_then_sooner_and_closed_by_taking_it_out() -> None:
    fed = seen("fed", 10)
    assert on(a_box(larvae(3), fed=fed), "meal_out") == 13
    assert on(a_box(larvae(3), fed=fed, mean_c=25.0), "meal_out") == 12
    assert due(a_box(larvae(3), fed=fed, meal_taken_out=seen("meal_taken_out", 12)), "meal_out") is None
    before = seen("meal_taken_out", 10, 599)
    assert on(a_box(larvae(3), fed=fed, meal_taken_out=before), "meal_out") == 13


def test_moisture_when_dry_then_that_day_until_misted() -> None:
    dry = seen("dried_out", 12)
    assert on(a_box(larvae(3), misted=seen("misted", 10), dried_out=dry), "moisture") == 12
    assert on(a_box(larvae(3), misted=seen("misted", 12, 601), dried_out=dry), "moisture") == 17


def test_moisture_when_dry_and_then_all_well_then_interval_counts_again() -> None:
    dry = seen("dried_out", 12)
    assert on(a_box(larvae(3), dried_out=dry, looked=seen("looked", 13)), "moisture") == 18
    assert on(a_box(larvae(3), dried_out=dry, looked=seen("looked", 11)), "moisture") == 12


@pytest.mark.parametrize(
    ("made", "days"),
    [({}, 5), ({"vents": "Gauze lid"}, 3), ({"vents": "closed"}, 8), ({"substrate": "paper"}, 3)],
)
def test_moisture_when_otherwise_then_by_ventilation_and_substrate(made: dict[str, str], days: int) -> None:
    facts = a_box(larvae(3), box_made=seen("box_made", 0, **made), looked=seen("looked", 10))
    assert on(facts, "moisture") == 10 + days


def test_moisture_when_box_was_changed_then_its_newest_description_counts() -> None:
    made, changed = seen("box_made", 0, vents="closed"), seen("box_changed", 3, vents="gauze")
    facts = a_box(larvae(3), box_made=made, box_changed=changed, looked=seen("looked", 10))
    assert on(facts, "moisture") == 13


def test_air_when_droplets_then_that_day_until_aired() -> None:
    wet = seen("condensation", 12, level="droplets")
    assert on(a_box(larvae(3), condensation=wet), "air") == 12
    assert due(a_box(larvae(3), condensation=wet, aired=seen("aired", 12, 620)), "air") is None


def test_air_when_puddles_then_more_pressing_than_droplets() -> None:
    droplets = due(a_box(larvae(3), condensation=seen("condensation", 12, level="droplets")), "air")
    puddles = due(a_box(larvae(3), condensation=seen("condensation", 12, level="puddles")), "air")
    assert droplets is not None
    assert puddles is not None
    assert puddles.urgency > droplets.urgency


@pytest.mark.parametrize(
    ("what", "task"), [("mould", "clean"), ("other", "clean"), ("mites", "renew"), ("flies", "renew")]
)
def test_cleaning_when_pest_seen_then_that_day(what: str, task: str) -> None:
    assert on(a_box(larvae(3), pest_seen=seen("pest_seen", 9, what=what)), task) == 9
    done = a_box(larvae(3), pest_seen=seen("pest_seen", 9, what=what), substrate_renewed=seen("substrate_renewed", 10))
    assert on(done, "clean") == 10 + 21
    assert on(done, "renew") == 10 + 56


def test_old_box_when_emptied_then_searched_until_confirmed_empty() -> None:
    moved = seen("transfer", 30, to_box="b2", n=12)
    assert on(a_box(transfer=moved), "check_old_box") == 32
    assert due(a_box(transfer=moved, confirmed_empty=seen("confirmed_empty", 33)), "check_old_box") is None
    assert due(a_box(larvae(3), transfer=moved), "check_old_box") is None
    assert due(a_box(transfer=seen("transfer", 30, to_box="b1", n=12)), "check_old_box") is None


def test_empty_box_then_nothing_due() -> None:
    assert dues(a_box(), GLOW_WORM) == ()


def test_quarantine_when_received_from_outside_then_ends_after_its_time() -> None:
    came = (CohortFacts("c1", origin="received", started_on=day(2)),)
    assert on(a_box(larvae(3), cohorts=came), "quarantine_end") == 32
    ended = seen("quarantine_ended", 33)
    assert due(a_box(larvae(3), cohorts=came, quarantine_ended=ended), "quarantine_end") is None
    began = seen("quarantine_began", 40, until=day(50).isoformat())
    facts = a_box(larvae(3), cohorts=came, quarantine_ended=ended, quarantine_began=began)
    assert on(facts, "quarantine_end") == 50


def test_watch_hatch_when_near_then_daily_and_rarely_after_the_usual_time() -> None:
    clutch = (CohortFacts("c1", laid_on=day(0)),)
    eggs = animals(Stage.EGG)
    assert on(a_box(eggs, cohorts=clutch), "watch_hatch") == 22
    assert on(a_box(eggs, cohorts=clutch, looked=seen("looked", 10)), "watch_hatch") == 22
    assert on(a_box(eggs, cohorts=clutch, looked=seen("looked", 25)), "watch_hatch") == 26
    assert on(a_box(eggs, cohorts=clutch, looked=seen("looked", 60)), "watch_hatch") == 67
    assert due(a_box(larvae(1), cohorts=clutch), "watch_hatch") is None


def test_watch_pupation_when_grown_then_from_the_moult_on_and_not_in_rest() -> None:
    moulted = seen("moulted", 40, to_instar=5)
    assert on(a_box(larvae(5), moulted=moulted), "watch_pupation") == 54
    assert due(a_box(larvae(4), moulted=seen("moulted", 10, to_instar=4)), "watch_pupation") is None
    assert due(a_box(larvae(5), moulted=moulted, rest=Rest(day(30))), "watch_pupation") is None
    woken = a_box(larvae(5), moulted=moulted, rest_ended=seen("rest_ended", 150))
    assert on(woken, "watch_pupation") == 150
    aged = a_box(larvae(0), cohorts=(CohortFacts("c1", hatched_on=day(-300)),))
    assert on(aged, "watch_pupation") == -300 + 365 - 14


@pytest.mark.parametrize(("moulted_on", "expected"), [(10, "2026-04-01"), (184, "2027-04-01"), (150, "2026-08-12")])
def test_watch_pupation_when_out_of_season_then_from_its_first_month_on(moulted_on: int, expected: str) -> None:
    """March waits for April, September for next April; August, the last month, is still within."""
    moulted = seen("moulted", moulted_on, to_instar=5)
    found = due(a_box(larvae(5), moulted=moulted), "watch_pupation")
    assert found is not None
    assert found.on.isoformat() == expected
    assert found.earliest <= found.on <= found.latest
    assert any(reason.rule == "pupation_season" for reason in found.reasons) == (moulted_on != 150)


def test_watch_emergence_when_pupae_then_by_sex() -> None:
    """Females take 7 to 10 days: the watch begins a day before."""
    pupae = animals(Stage.PUPA, Sex.FEMALE)
    found = due(a_box(pupae, pupated=seen("pupated", 40)), "watch_emergence")
    assert found is not None
    assert (found.on, found.latest) == (day(46), day(50))


def test_separate_sexes_when_pupae_mixed_or_unsexed_then_before_emergence() -> None:
    pupated = seen("pupated", 40)
    male, female = animals(Stage.PUPA, Sex.MALE), animals(Stage.PUPA, Sex.FEMALE)
    assert on(a_box(male, female, pupated=pupated), "separate_sexes") == 42
    assert on(a_box(animals(Stage.PUPA), pupated=pupated), "separate_sexes") == 42
    assert due(a_box(female, pupated=pupated), "separate_sexes") is None


def test_adults_when_emerged_together_then_parted_unless_introduced() -> None:
    pair = animals(Stage.ADULT, Sex.MALE), animals(Stage.ADULT, Sex.FEMALE)
    assert on(a_box(*pair, emerged=seen("emerged", 50)), "separate_sexes") == 50
    paired = a_box(*pair, emerged=seen("emerged", 50), introduced=seen("introduced", 51))
    assert due(paired, "separate_sexes") is None
    assert on(paired, "end_pairing") == 55


def test_adults_when_only_females_emerged_then_nobody_to_part() -> None:
    female = animals(Stage.ADULT, Sex.FEMALE)
    assert due(a_box(female, emerged=seen("emerged", 50)), "separate_sexes") is None


def test_urgency_when_larvae_are_younger_then_higher_and_a_pressing_task_before_a_chore() -> None:
    """Among equal tasks the young come first; eggs and adults come before resting stages."""
    stages = [larvae(1), larvae(3), larvae(5), animals(Stage.ADULT), animals(Stage.PUPA)]
    wet = [due(a_box(line, condensation=seen("condensation", 3)), "air") for line in stages]
    urgencies = [one.urgency for one in wet if one is not None]
    assert urgencies == [29, 27, 25, 25, 24]
    clean = due(a_box(larvae(1)), "clean")
    assert clean is not None
    assert clean.urgency == 9


def test_introduce_when_a_female_glows_then_that_evening_until_paired() -> None:
    female, glowing = animals(Stage.ADULT, Sex.FEMALE), seen("glowing", 52, 1320)
    assert on(a_box(female, glowing=glowing), "introduce") == 52
    assert due(a_box(female, glowing=glowing, introduced=seen("introduced", 52, 1330)), "introduce") is None
    assert due(a_box(female, glowing=glowing, laid=seen("laid", 54)), "introduce") is None


def test_end_pairing_when_eggs_laid_then_at_once_and_closed_by_separating() -> None:
    pair = animals(Stage.ADULT, Sex.MALE), animals(Stage.ADULT, Sex.FEMALE)
    facts = a_box(*pair, introduced=seen("introduced", 51), laid=seen("laid", 53))
    assert on(facts, "end_pairing") == 53
    apart = a_box(*pair, introduced=seen("introduced", 51), separated=seen("separated", 54))
    assert due(apart, "end_pairing") is None


def test_losses_when_more_than_survival_explains_then_look_for_escapes() -> None:
    count = seen("count", 20, n=5, complete=True)
    facts = a_box(larvae(2), count=count, loss_note="7 of 12 unaccounted")
    found = due(facts, "look_for_escape")
    assert found is not None
    assert found.on == day(20)
    assert why(found, day(20)) == "Due today: 7 of 12 unaccounted; look for escapes and check the gauze."
    looked = a_box(larvae(2), count=count, loss_note="7 of 12 unaccounted", looked=seen("looked", 20, 700))
    assert due(looked, "look_for_escape") is None


def test_later_when_said_then_moves_and_keeps_every_reason() -> None:
    before = due(a_box(larvae(1), fed=seen("fed", 10)), "feed")
    after = due(a_box(larvae(1), fed=seen("fed", 10), later__feed=seen("later", 17, days=3)), "feed")
    assert before is not None
    assert after is not None
    assert after.on == day(20)
    assert after.reasons[:-1] == before.reasons
    assert after.reasons[-1].text == "Put off on 18 March for 3 days."


def test_later_when_a_new_sign_comes_then_it_is_not_put_off() -> None:
    facts = a_box(
        larvae(1),
        misted=seen("misted", 10),
        later__moisture=seen("later", 12, days=5),
        dried_out=seen("dried_out", 14),
    )
    assert on(facts, "moisture") == 14


def test_first_meal_when_all_larvae_hatched_since_the_last_meal_then_that_meal_does_not_count() -> None:
    """A box fed months ago, in which a clutch has hatched now, is not months late."""
    hatched = CohortFacts("c1", hatched_on=day(100))
    found = due(a_box(larvae(1), fed=seen("fed", 1), hatched=seen("hatched", 100), cohorts=(hatched,)), "feed")
    assert found is not None
    assert day(100) < found.on <= day(105)


def test_quarantine_when_animals_were_received_long_ago_then_not_again_in_their_next_box() -> None:
    received = CohortFacts("c1", origin="received", started_on=day(-400))
    moved = seen("transfer", 10, to_box="b1")
    assert due(a_box(larvae(3), transfer=moved, cohorts=(received,)), "quarantine_end") is None
    fresh = CohortFacts("c1", origin="received", started_on=day(0))
    assert due(a_box(larvae(3), transfer=moved, cohorts=(fresh,)), "quarantine_end") is not None


def test_relabel_when_another_open_box_has_the_code_then_due() -> None:
    assert due(a_box(larvae(3)), "relabel") is None
    assert due(replace(a_box(larvae(3)), shares_code=True), "relabel") is not None
