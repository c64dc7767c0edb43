"""Temperatures move what is expected; gaps are filled and marked; imports can be taken back."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from boxside.actions import ahead, areas, log_event, temperatures
from boxside.actions.light import light_view
from boxside.actions.settings import change_setting
from boxside.core.values.ahead import Expected
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from tests.actions.keeping import Keeper

DAY = date(2026, 5, 3)


def water_firefly(keeper: Keeper, area: str = "") -> None:
    """Let a clutch of a species with a known temperature sum be there since today."""
    change_setting(keeper.services, "species", "luciola_lateralis")
    keeper.add("B01", "egg", 60, area_id=area)


def clutch(keeper: Keeper) -> Expected:
    (found,) = ahead.ahead_view(keeper.services, to_on=keeper_day(keeper) + timedelta(days=200)).expected
    return found


def keeper_day(keeper: Keeper) -> date:
    from boxside.actions.context import today

    return today(keeper.services)


def test_a_cold_week_on_the_thermometer_puts_the_hatch_off(keeper: Keeper) -> None:
    area = areas.make_area(keeper.services, "Shelf", usual_c=20.0)
    water_firefly(keeper, area)
    before = clutch(keeper)
    for n in range(1, 11):
        keeper.stand(DAY + timedelta(days=n))
        temperatures.log_temperature(keeper.services, area, min_c=11.0, max_c=13.0)
    after = clutch(keeper)
    assert before.likely is not None
    assert after.likely is not None
    assert after.likely > before.likely + timedelta(days=20)


def test_no_temperature_of_a_glow_worm_is_reckoned_with(keeper: Keeper) -> None:
    for name, usual in (("Warm", 24.0), ("Cold", 12.0)):
        area = areas.make_area(keeper.services, name, usual_c=usual)
        keeper.add(name[0], "egg", 60, area_id=area)
    warm, cold = ahead.ahead_view(keeper.services, to_on=DAY + timedelta(days=60)).expected
    assert (warm.earliest, warm.likely, warm.latest) == (cold.earliest, cold.likely, cold.latest)


def test_gaps_are_filled_and_said_to_be(keeper: Keeper) -> None:
    area = areas.make_area(keeper.services, "Shelf", usual_c=20.0)
    for n in (0, 1, 2, 3, 6, 7, 8, 9):
        keeper.stand(DAY + timedelta(days=n))
        temperatures.log_temperature(keeper.services, area, now_c=20.5, min_c=18.0, max_c=22.0 + n / 10)
    (shown,) = areas.climate_view(keeper.services).areas
    assert (shown.n_measured, shown.n_filled) == (8, 2)
    assert shown.last_text == "18.0 to 22.9 °C on 12 May"
    assert shown.chart is not None
    assert shown.chart.notes == ("2 days without a measurement were filled in.",)
    band, filled = shown.chart.series
    assert len(band.x) == 10
    assert filled.x == (float(date(2026, 5, 7).toordinal()), float(date(2026, 5, 8).toordinal()))


def test_boxes_stand_in_areas(keeper: Keeper) -> None:
    area = areas.make_area(keeper.services, "Shelf")
    keeper.add("B01")
    keeper.add("B02")
    areas.stand_in(keeper.services, [keeper.id("B01")], area)
    view = areas.climate_view(keeper.services)
    assert (view.areas[0].n_boxes, view.n_homeless) == (1, 1)
    with pytest.raises(EntryError, match="name of its own"):
        areas.make_area(keeper.services, "Shelf")


@pytest.mark.parametrize(
    ("said", "why"),
    [({}, "No temperature"), ({"min_c": 20.0, "max_c": 18.0}, "is below the lowest"), ({"now_c": 99.0}, "between")],
)
def test_readings_that_cannot_be_are_refused(keeper: Keeper, said: dict[str, float], why: str) -> None:
    area = areas.make_area(keeper.services, "Shelf")
    before = keeper.kept()
    with pytest.raises(EntryError, match=why):
        temperatures.log_temperature(keeper.services, area, **said)
    with pytest.raises(EntryError, match="no such area"):
        temperatures.log_temperature(keeper.services, "elsewhere", now_c=20.0)
    assert keeper.kept() == before


def test_an_import_can_be_taken_back_whole(keeper: Keeper, tmp_path: Path) -> None:
    area = areas.make_area(keeper.services, "Shelf")
    path = tmp_path / "logger.csv"
    rows = [
        f"2026-04-{day:02d} {hour:02d}:00;{20 + hour / 24:.2f}".replace(".", ",")
        for day in range(1, 9)
        for hour in range(0, 24, 2)
    ]
    path.write_text("sep=;\nZeit;°C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    before = keeper.standing()
    done = temperatures.import_file(keeper.services, path, area)
    assert (done.area, done.n_new, len(done.event_ids)) == ("Shelf", 8, 8)
    days = temperatures.days_measured(keeper.services, area)
    assert [(day.min_c, day.max_c) for day in days] == [(20.0, 20.92)] * 8
    assert days[0].on == date(2026, 4, 1)
    temperatures.take_back(keeper.services, done, area)
    assert temperatures.days_measured(keeper.services, area) == ()
    assert keeper.standing() == before


def test_days_around_a_clock_change_stay_their_own(keeper: Keeper, tmp_path: Path) -> None:
    area = areas.make_area(keeper.services, "Shelf")
    path = tmp_path / "logger.csv"
    # Written in UTC: midnight in Berlin is 23:00 the day before in winter and 22:00 in summer.
    rows = []
    for day, value in ((28, 15), (29, 16), (30, 17)):
        rows += [f"2026-03-{day} {hour:02d}:00:00Z,{value}" for hour in range(0, 24, 1)]
    path.write_text("Time,Temperature\n" + "\n".join(rows) + "\n", encoding="utf-8")
    temperatures.import_file(keeper.services, path, area)
    days = {day.on: (day.min_c, day.max_c) for day in temperatures.days_measured(keeper.services, area)}
    assert days[date(2026, 3, 29)] == (15.0, 16.0)
    assert days[date(2026, 3, 30)] == (16.0, 17.0)


def test_light_through_the_year_and_in_a_cupboard(keeper: Keeper) -> None:
    assert light_view(keeper.services).notice is not None
    change_setting(keeper.services, "latitude", 52)
    change_setting(keeper.services, "longitude", 13)
    keeper.stand("2026-06-20")
    view = light_view(keeper.services)
    assert view.place == "52° N, 13° E"
    assert view.today is not None
    # 16.72 hours by astral, 52 N on 20 June.
    assert view.today.day_length_h == pytest.approx(16.73, abs=0.03)
    assert view.today.dusk is not None
    assert view.today.sunset is not None
    assert view.today.sunset < view.today.dusk
    assert view.today.box_light_h > view.today.day_length_h
    area = areas.make_area(keeper.services, "Cupboard")
    areas.log_light(keeper.services, area, hours=0, on_min=None, daylight=False)
    dark = light_view(keeper.services, area)
    assert {row.box_light_h for row in dark.rows} == {0.0}
    assert areas.climate_view(keeper.services).areas[0].light == "dark throughout"
    areas.log_light(keeper.services, area, hours=12, on_min=480, daylight=False)
    lamp = light_view(keeper.services, area)
    assert {round(row.box_light_h, 6) for row in lamp.rows} == {12.0}
    assert any("says nothing of the season" in note for note in lamp.notes)


def test_what_was_learned_of_one_area_is_not_taken_for_another(keeper: Keeper) -> None:
    warm = areas.make_area(keeper.services, "Warm", usual_c=25.0)
    for n in range(40):
        keeper.stand(DAY + timedelta(days=n))
        temperatures.log_temperature(keeper.services, warm, min_c=24.0, max_c=26.0)
    keeper.stand(DAY)
    water_firefly(keeper, warm)
    keeper.stand(DAY + timedelta(days=19))
    keeper.log("B01", "looked")
    keeper.stand(DAY + timedelta(days=20))
    keeper.log("B01", "hatched", n=50)
    keeper.add("B02", "egg", 50, area_id=warm)
    keeper.add("B03", "egg", 50)
    found = {one.subject[:3]: one for one in ahead.ahead_view(keeper.services, to_on=DAY + timedelta(days=90)).expected}
    assert "1 own intervals" in found["B02"].reasons[1].text
    assert "the profile alone" in found["B03"].reasons[1].text
    log_event.log_all(keeper.services, [Draft("note", "area", warm, note="checked")])
