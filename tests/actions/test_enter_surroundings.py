"""What the screens of the future save: each entry can be taken back at once, files lie in the exports."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from boxside.actions.ahead_words import grouped_jobs, grouped_late, in_words, move_text, n_days, weekday_text
from boxside.actions.areas import climate_view
from boxside.actions.enter_surroundings import (
    add_area,
    enter_breeders,
    enter_light,
    enter_stock,
    enter_temperature,
    place_boxes,
    spread_tasks,
    take_in_file,
)
from boxside.actions.prey import prey_view
from boxside.actions.prey_stock import breeders, stock_rows
from boxside.actions.save_ahead import save_calendar, save_sheet
from boxside.actions.undo_flow import undo_flow
from boxside.actions.void_event import void_event
from boxside.core.values.ahead import Job, LateTask, MovedTask, NewStock
from boxside.core.values.errors import EntryError, StoreError
from tests.actions.keeping import Keeper

TODAY = date(2026, 6, 10)


def area_of(keeper: Keeper) -> str:
    """Make an area and return its id."""
    add_area(keeper.services, "Shelf", 20.0)
    return climate_view(keeper.services).areas[0].area_id


def test_an_area_is_made_and_taken_back(keeper: Keeper) -> None:
    saved = add_area(keeper.services, " Attic ", 6.5, cool=True)
    (area,) = climate_view(keeper.services).areas
    assert (area.name, area.usual_c, area.cool) == ("Attic", 6.5, True)
    assert saved.undo is not None
    assert saved.undo.label == "Attic added"
    void_event(keeper.services, saved.event_id)
    assert climate_view(keeper.services).areas == ()


def test_boxes_are_placed_and_taken_back_together(keeper: Keeper) -> None:
    keeper.add("B01", n=10)
    keeper.add("B02", n=10)
    area = area_of(keeper)
    flow = place_boxes(keeper.services, (keeper.id("B01"), keeper.id("B02")), area)
    assert climate_view(keeper.services).areas[0].n_boxes == 2
    assert flow.saved.undo is not None
    assert flow.saved.undo.label == "2 boxes: now in Shelf"
    undo_flow(keeper.services, flow.events)
    assert climate_view(keeper.services).areas[0].n_boxes == 0


def test_a_temperature_and_a_light_are_taken_back(keeper: Keeper) -> None:
    area = area_of(keeper)
    reading = enter_temperature(keeper.services, area, None, -2.5, 4.0)
    light = enter_light(keeper.services, area, 0.0, None, False)
    assert reading.undo is not None
    assert reading.undo.label == "-2.5 °C to 4 °C"
    (shown,) = climate_view(keeper.services).areas
    assert (shown.n_measured, shown.light) == (1, "dark throughout")
    for saved in (reading, light):
        void_event(keeper.services, saved.event_id)
    (shown,) = climate_view(keeper.services).areas
    assert (shown.n_measured, shown.light) == (0, "daylight, as far as is known")


def test_a_stock_in_quarantine_counts_its_days_from_today(keeper: Keeper) -> None:
    saved = enter_stock(keeper.services, NewStock("garden snail", n=30, batch="Q7"), 14)
    (held,) = stock_rows(keeper.services)
    day = prey_view(keeper.services).from_on
    assert (held.left, held.quarantine_until, held.in_quarantine) == (30, day + timedelta(days=14), True)
    void_event(keeper.services, saved.event_id)
    assert stock_rows(keeper.services) == ()


def test_breeders_are_noted(keeper: Keeper) -> None:
    saved = enter_breeders(keeper.services, "garden snail", 12)
    assert breeders(keeper.services) == {"garden snail": 12}
    assert saved.undo is not None
    assert saved.undo.label == "12 garden snail set aside"


def test_put_off_tasks_are_taken_back_together(keeper: Keeper) -> None:
    keeper.add("B01", n=10)
    day = prey_view(keeper.services).from_on
    moved = (MovedTask(keeper.id("B01"), "B01", "feed", day, day + timedelta(days=2), 2),)
    before = keeper.dues("B01")["feed"]
    flow = spread_tasks(keeper.services, moved)
    assert flow.saved.undo is not None
    assert flow.saved.undo.label == "1 task put off"
    assert keeper.dues("B01").get("feed") != before
    undo_flow(keeper.services, flow.events)
    assert keeper.dues("B01")["feed"] == before


def test_a_file_is_taken_in_and_taken_back_whole(keeper: Keeper, tmp_path: Path) -> None:
    area = area_of(keeper)
    first = prey_view(keeper.services).from_on - timedelta(days=4)
    lines = [f"{first + timedelta(days=n)} {hour:02d}:00;{18 + hour / 8:.1f}" for n in range(3) for hour in range(24)]
    path = tmp_path / "log.csv"
    path.write_text("Time;Temp °C\n" + "\n".join(lines) + "\n", encoding="utf-8")
    flow = take_in_file(keeper.services, str(path), area)
    assert climate_view(keeper.services).areas[0].n_measured == len(flow.events) >= 2
    undo_flow(keeper.services, flow.events)
    assert climate_view(keeper.services).areas[0].n_measured == 0


def test_the_calendar_and_the_sheet_lie_in_the_exports(keeper: Keeper) -> None:
    keeper.add("B01", n=10)
    day = prey_view(keeper.services).from_on
    calendar = save_calendar(keeper.services)
    assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR")
    pdf, text = save_sheet(keeper.services, day, day + timedelta(days=9), "Kim")
    assert {path.parent for path in (calendar, pdf, text)} == {Path(keeper.services.device.data_dir) / "exports"}
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert "for Kim" in text.read_text(encoding="utf-8")


def test_a_trip_that_cannot_be_writes_nothing(keeper: Keeper) -> None:
    day = prey_view(keeper.services).from_on
    with pytest.raises(EntryError, match="wrong way round"):
        save_sheet(keeper.services, day, day - timedelta(days=1))
    assert not (Path(keeper.services.device.data_dir) / "exports").exists()


def test_a_folder_that_cannot_be_made_is_told(keeper: Keeper) -> None:
    folder = Path(keeper.services.device.data_dir)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "exports").write_text("in the way")
    with pytest.raises(StoreError, match="cannot be made"):
        save_calendar(keeper.services)


def test_words_of_the_coming_weeks() -> None:
    assert weekday_text(date(2027, 1, 1), TODAY) == "Fri 1 Jan 2027"
    assert (n_days(1), n_days(0), n_days(3)) == ("1 day", "0 days", "3 days")
    assert in_words("B03 on 2026-05-28, not 2026-05-280", TODAY) == "B03 on 28 May, not 2026-05-280"
    sooner = MovedTask("i", "B01", "feed", TODAY, TODAY - timedelta(days=1), -1)
    assert move_text(sooner, TODAY) == ("Feed", "Tue 9 Jun, 1 day sooner")


def test_what_asks_for_the_same_is_taken_together() -> None:
    late = [LateTask(f"i{n}", f"B{n}", task, TODAY + timedelta(days=n), 3) for n, task in ((3, "feed"), (1, "clean"))]
    late.append(LateTask("i2", "B2", "feed", TODAY, 1))
    assert [(label, [one.label for one in some]) for label, some in grouped_late(late)] == [
        ("Feed", ["B2", "B3"]),
        ("Clean", ["B1"]),
    ]
    jobs = [Job("i", label, "", "", "Feed", how, "") for label, how in (("B1", "2"), ("B2", "3"), ("B3", "2"))]
    assert [(how, [job.label for job in some]) for _, how, some in grouped_jobs(jobs)] == [
        ("2", ["B1", "B3"]),
        ("3", ["B2"]),
    ]
