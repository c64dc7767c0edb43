"""Evenings: glows relative to sunset, over midnight and clock changes; who lacks a mate; who will not live long."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from boxside.actions import dusk, mating_group
from boxside.actions.adults import lifetime, species_profile
from boxside.actions.settings import change_setting
from boxside.core.development import sun_day
from boxside.core.values.dusk import DuskRow, DuskView
from boxside.core.values.errors import EntryError
from boxside.core.values.moments import to_ms
from boxside.core.values.stages import Sex
from tests.actions.keeping import Keeper
from tests.actions.lining import female, found, introduce, lay, male, start

BERLIN = (52.5, 13.4)


def settle(keeper: Keeper, latitude: float = BERLIN[0], longitude: float = BERLIN[1]) -> None:
    change_setting(keeper.services, "latitude", latitude)
    change_setting(keeper.services, "longitude", longitude)


def show(keeper: Keeper) -> DuskView:
    return dusk.dusk_view(keeper.services)


def row(keeper: Keeper, label: str) -> DuskRow:
    return next(r for r in show(keeper).rows if r.label == label)


def sunset_ms(day: str, zone: str = "Europe/Berlin", at: tuple[float, float] = BERLIN) -> int:
    sinks = sun_day(date.fromisoformat(day), *at, ZoneInfo(zone)).horizon.sinks_at
    assert sinks is not None
    return to_ms(sinks)


@pytest.fixture
def summer(keeper: Keeper) -> Keeper:
    """Two females in B01, one in B02, three males in B03 and one in B04, in Berlin on 20 June."""
    keeper.stand("2026-06-18")
    settle(keeper)
    found(keeper, "F", 2, "B01", stage="adult", sex="female")
    found(keeper, "G", 1, "B02", stage="adult", sex="female")
    found(keeper, "M", 3, "B03", stage="adult", sex="male")
    found(keeper, "N", 1, "B04", stage="adult", sex="male")
    keeper.stand("2026-06-20", 22 * 60 + 15)
    return keeper


# ---------------------------------------------------------------- times


def test_a_tap_keeps_the_time_and_shows_it_after_sunset(summer: Keeper) -> None:
    """Sunset in Berlin about midsummer is 21:33 CEST (value from memory, beside the computed one)."""
    dusk.note_glow(summer.services, summer.id("B01"))
    shown = row(summer, "B01")
    assert shown.is_glowing
    (span,) = shown.evenings
    assert span.from_min == pytest.approx((summer.at("2026-06-20", 22 * 60 + 15) - sunset_ms("2026-06-20")) / 60_000)
    assert span.from_min == pytest.approx(42, abs=2)
    assert (span.from_at, span.until_at, span.until_min) == ("22:15", "", None)
    assert "since 22:15, 42 min after sunset" in shown.headline
    assert show(summer).sun.text.startswith("Sunset 21:3")


def test_a_glow_before_sunset_says_so(summer: Keeper) -> None:
    summer.stand("2026-06-20", 21 * 60 + 20)
    dusk.note_glow(summer.services, summer.id("B01"))
    (span,) = row(summer, "B01").evenings
    assert span.from_min == pytest.approx(-13, abs=2)
    assert "min before sunset" in span.text


def test_a_night_is_one_evening_and_an_end_ends_it(summer: Keeper) -> None:
    dusk.note_glow(summer.services, summer.id("B01"))
    summer.stand("2026-06-21", 30)
    assert row(summer, "B01").is_glowing
    dusk.note_glow(summer.services, summer.id("B01"), ended=True)
    shown = row(summer, "B01")
    (span,) = shown.evenings
    assert not shown.is_glowing
    assert span.on == date(2026, 6, 20)
    assert span.until_min - span.from_min == pytest.approx(135)
    summer.stand("2026-06-21", 22 * 60)
    dusk.note_glow(summer.services, summer.id("B01"))
    assert [s.on for s in row(summer, "B01").evenings] == [date(2026, 6, 21), date(2026, 6, 20)]


def test_a_glow_seen_twice_in_one_evening_is_one_glow(summer: Keeper) -> None:
    dusk.note_glow(summer.services, summer.id("B01"), n=1)
    summer.wait(20)
    dusk.note_glow(summer.services, summer.id("B01"), n=2)
    (span,) = row(summer, "B01").evenings
    assert (span.from_at, span.n) == ("22:15", 2)


def test_yesterdays_glow_without_an_end_is_not_a_glow_now(summer: Keeper) -> None:
    dusk.note_glow(summer.services, summer.id("B01"))
    summer.stand("2026-06-21", 22 * 60)
    assert not row(summer, "B01").is_glowing
    assert row(summer, "B01").state == "waiting"


@pytest.mark.parametrize(
    ("day", "minutes"), [("2026-03-28", 60), ("2026-03-27", 120), ("2026-10-24", 180), ("2026-10-23", 120)]
)
def test_minutes_pass_also_where_the_clock_jumps(keeper: Keeper, day: str, minutes: int) -> None:
    """From 01:30 to 03:30 by the wall clock: an hour less on the night of 29 March, one more on that of 25 October."""
    keeper.stand("2026-03-01")
    settle(keeper)
    found(keeper, "F", 1, "B01", stage="adult", sex="female")
    keeper.stand(date.fromisoformat(day) + timedelta(days=1), 11 * 60)
    keeper.log("B01", "glowing", from_min=90, until_min=210)
    (span,) = row(keeper, "B01").evenings
    assert (span.on.isoformat(), span.from_at, span.until_at) == (day, "01:30", "03:30")
    assert span.until_min - span.from_min == pytest.approx(minutes)
    after = date.fromisoformat(day) + timedelta(days=1)
    assert span.from_min == pytest.approx((keeper.at(after.isoformat(), 90) - sunset_ms(day)) / 60_000)


def test_places_without_a_sunset_and_logs_without_a_place_say_so(keeper: Keeper) -> None:
    keeper.stand("2026-06-20", 23 * 60)
    found(keeper, "F", 1, "B01", stage="adult", sex="female")
    dusk.note_glow(keeper.services, keeper.id("B01"))
    assert "Set latitude" in show(keeper).sun.text
    assert row(keeper, "B01").evenings[0].from_min is None
    settle(keeper, 70.0, 25.0)
    assert show(keeper).sun.text == "The sun does not set on this day."
    assert row(keeper, "B01").headline == "Glowing since 23:00. No male here."


@pytest.mark.parametrize(("key", "value"), [("latitude", 91), ("longitude", -181), ("latitude", "north")])
def test_a_place_off_the_globe_is_refused(keeper: Keeper, key: str, value: float | str) -> None:
    with pytest.raises(EntryError, match="is not between"):
        change_setting(keeper.services, key, value)


# ---------------------------------------------------------------- who is with whom


def test_glowing_females_without_a_male_come_first_with_the_least_related_males(summer: Keeper) -> None:
    start(summer, "child", "2026-06-19", female("F"), male("M"))
    dusk.note_glow(summer.services, summer.id("B01"))
    shown = show(summer)
    assert (shown.rows[0].label, shown.rows[0].state) == ("B01", "alone")
    assert shown.alone == ("B01",)
    assert shown.idle == ("B03", "B04")
    assert [offer.label for offer in shown.rows[0].offers] == ["B03", "B04"]
    assert shown.advice[0].startswith("B01 glows without a male: bring 3 males of M in B03")
    assert [act.command or act.kind for act in shown.rows[0].acts] == ["introduce", "glow_ended", "lay"]


def test_related_males_are_offered_last(keeper: Keeper) -> None:
    found(keeper, "A", 4, "B09")
    keeper.stand("2027-06-20", 22 * 60)
    start(keeper, "sibs", "2026-07-01", female("A"), male("A"))
    for box, cohort, sex in (("B01", "sibs", "female"), ("B02", "sibs", "male")):
        keeper.add(box, stage="adult", n=1, sex=sex, cohort_id=keeper_cohort(keeper, cohort))
    found(keeper, "M", 1, "B03", stage="adult", sex="male")
    offers = row(keeper, "B01").offers
    assert [(offer.label, offer.kinship) for offer in offers] == [("B03", 0.0), ("B02", 0.25)]


def keeper_cohort(keeper: Keeper, name: str) -> str:
    from boxside.actions.entry import named_entity

    return named_entity(keeper.services, "cohort", name)


def test_introduced_paired_laid_and_parted(summer: Keeper) -> None:
    introduce(summer, "B01", "B03", 2)
    paired = row(summer, "B01")
    assert (paired.state, paired.n_males, paired.males[0].text) == (
        "paired", 2, "2 males of M, introduced since 20 Jun",
    )  # fmt: skip
    assert row(summer, "B03").n_males == 1
    summer.wait(60)
    lay(summer, "B01", "O")
    assert row(summer, "B01").state == "laying"
    mating_group.separate(summer.services, summer.id("B01"), summer.id("B03"))
    assert (row(summer, "B01").n_males, row(summer, "B03").n_males) == (0, 3)
    assert row(summer, "B01").headline == "Eggs laid. 2 females. Parted 20 Jun."


def test_adults_that_may_die_soon_are_named_with_their_days(summer: Keeper) -> None:
    low, high = lifetime(species_profile(summer.services, keeper_cohort(summer, "F")), Sex.FEMALE)
    emerged = date(2026, 6, 18)
    assert row(summer, "B01").broods[0].emerged_on == emerged
    summer.stand(emerged + timedelta(days=low), 20 * 60)
    (brood,) = row(summer, "B01").broods
    assert (brood.soon, brood.past, brood.dies_by) == (True, False, emerged + timedelta(days=high))
    assert "may die from" in row(summer, "B01").warnings[0]
    summer.stand(emerged + timedelta(days=high + 1), 20 * 60)
    assert row(summer, "B01").broods[0].past


def test_the_first_to_emerge_are_taken_to_have_died_first(keeper: Keeper) -> None:
    keeper.stand("2026-06-01")
    keeper.add("B01", stage="pupa", n=6)
    keeper.log("B01", "sexed", n_female=6)
    for day, n in (("2026-06-10", 2), ("2026-06-14", 4)):
        keeper.stand(day)
        keeper.log("B01", "emerged", n=n, to_sex="female")
    keeper.stand("2026-06-16")
    keeper.log("B01", "died", n=3, stage="adult", sex="female")
    assert [(b.emerged_on.day, b.n) for b in row(keeper, "B01").broods] == [(14, 3)]


def test_an_evening_without_adults_says_so(keeper: Keeper) -> None:
    assert show(keeper).rows == ()
    assert "No adults" in show(keeper).empty
