"""Surroundings: areas, thermometers below zero, a logger's file looked at before it is taken in, light."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.ui.fake_colony import colony
from tests.ui.test_ahead import reach

pytestmark = pytest.mark.screen


@pytest.fixture
def places(start: Any) -> Any:
    """Return a driver that stands on Surroundings."""
    driver = start(colony())
    driver.tap("More")
    driver.tap("Surroundings")
    return driver


@pytest.fixture
def shelf(places: Any) -> Any:
    """Return a driver that stands on one area."""
    places.tap(reach(places, "Cellar shelf: 22 boxes"))
    return places


def key(driver: Any, name: str) -> Any:
    """Return the key of the keypad that types that."""
    return next(target for target in driver.targets() if getattr(target, "key", "") == name)


def test_an_area_leads_back_to_all_and_from_there_on(shelf: Any) -> None:
    assert shelf.page.title == "Cellar shelf"
    shelf.tap("Back")
    assert (shelf.shell.here, shelf.page.title) == ("surroundings", "Surroundings")
    shelf.tap("Back")
    assert shelf.shell.here == "more"


def test_a_cool_area_is_added_with_what_it_usually_is(places: Any) -> None:
    places.tap("Add area")
    places.shell.sheet.ids.entry.text = "Attic"
    places.tap("Done")
    places.tap(key(places, "6"))
    places.tap(key(places, "."))
    places.tap(key(places, "5"))
    places.tap("Done")
    places.tap("Cool, for the winter rest")
    assert places.services.calls("add_area") == [("Attic", 6.5, True)]
    places.tap("Undo")
    assert places.services.voided == ["k1"]


def test_an_area_without_a_name_is_not_asked_for_more(places: Any) -> None:
    places.tap("Add area")
    places.tap("Done")
    assert places.shell.sheet is None
    assert places.services.calls("add_area") == []


def test_a_temperature_below_zero_is_typed_on_the_keypad(shelf: Any) -> None:
    shelf.tap("Log temperature")
    shelf.tap("Now")
    for name in ("-", "3", ".", "5"):
        shelf.tap(key(shelf, name))
    shelf.tap("Done")
    assert shelf.services.calls("enter_temperature") == [("a1", -3.5, None, None)]
    shelf.tap("Undo")
    assert shelf.services.voided == ["k1"]


def test_the_sign_is_a_switch_and_alone_no_number(shelf: Any) -> None:
    shelf.tap("Log temperature")
    shelf.tap("Now")
    shelf.tap(key(shelf, "-"))
    shelf.tap("Done")
    assert "A number from -40 to 60, please." in shelf.words()
    for name in ("7", "-"):
        shelf.tap(key(shelf, name))
    shelf.tap("Done")
    assert shelf.services.calls("enter_temperature") == [("a1", 7.0, None, None)]


def test_the_highest_cannot_be_below_the_lowest(shelf: Any) -> None:
    shelf.tap("Log temperature")
    shelf.tap("Lowest and highest")
    shelf.type("12")
    shelf.tap("Done")
    shelf.tap(key(shelf, "9"))
    shelf.tap("Done")
    assert "A number from 12 to 60, please." in shelf.words()
    shelf.tap(key(shelf, "erase"))
    shelf.type("21")
    shelf.tap("Done")
    assert shelf.services.calls("enter_temperature") == [("a1", None, 12.0, 21.0)]


def test_a_box_is_put_into_the_area_by_its_code(shelf: Any) -> None:
    shelf.tap(reach(shelf, "Put a box here"))
    shelf.type("05")
    shelf.tap("Find")
    shelf.tap("B05")
    assert shelf.services.calls("place_boxes") == [(("id5",), "a1")]
    shelf.tap("Undo")
    assert shelf.services.voided == ["f1", "f2"]


@pytest.mark.parametrize(
    ("taps", "expected"),
    [
        (("Dark cupboard",), ("a1", 0.0, None, False)),
        (("Daylight",), ("a1", 0.0, None, True)),
        (("Lamp only", "More", "Done", "Done"), ("a1", 13.0, 360, False)),
        (("Daylight and a lamp", "Done", "More", "Done"), ("a1", 12.0, 420, True)),
    ],
)
def test_light_is_noted(shelf: Any, taps: tuple[str, ...], expected: tuple[Any, ...]) -> None:
    shelf.tap(reach(shelf, "Light in this area"))
    for tap in taps:
        shelf.tap(tap)
    assert shelf.services.calls("enter_light") == [expected]


def test_light_at_the_place_and_in_the_boxes_is_told(shelf: Any) -> None:
    assert shelf.services.calls("light_view") == ["", "a1"]
    parts = {row["label"]: row["value"] for row in shelf.page.data if "label" in row}
    assert parts == {
        "Sunrise": "08:00", "Sunset": "16:00", "Civil dusk": "not today", "Sunrise to sunset": "8 h 00 min",
        "Light in the boxes today": "14 h 00 min",
    }  # fmt: skip
    charts = [row["chart"].title for row in shelf.page.data if "chart" in row]
    assert charts == ["Temperature, Cellar shelf", "Day length"]


def test_a_place_that_is_not_set_leads_to_where_it_is(start: Any) -> None:
    driver = start(colony())
    driver.services.settings["ahead"] = "quiet"
    driver.tap("More")
    driver.tap("Surroundings")
    driver.tap(reach(driver, "Set the place"))
    assert driver.shell.here == "settings"


def with_file(driver: Any, name: str) -> Path:
    """Have the device hand over a file, and begin the import."""
    path = Path("/home/keeper") / name
    driver.services.device.files.path = str(path)
    driver.tap(reach(driver, "Import a logger"))
    return path


def test_a_file_is_looked_at_before_it_is_taken_in(shelf: Any) -> None:
    path = with_file(shelf, "week.csv")
    parts = {row["label"]: row["value"] for row in shelf.shell.sheet.data if "label" in row}
    assert parts["Measurements"] == "1182"
    assert parts["New days"] == "8"
    assert shelf.services.calls("take_in_file") == []
    shelf.tap("Import")
    assert shelf.services.calls("take_in_file") == [(str(path), "a1", None)]
    shelf.tap("Undo")
    assert shelf.services.voided == ["f1", "f2"]


def test_a_file_that_can_be_read_two_ways_asks_which(shelf: Any) -> None:
    path = with_file(shelf, "open.csv")
    assert "day first or month first?" in shelf.words()
    shelf.tap(next(t for t in shelf.targets() if "month, day, year" in getattr(t, "text", "")))
    assert shelf.services.calls("preview_file")[-1] == (path, "a1", 1)
    shelf.tap("Import")
    assert shelf.services.calls("take_in_file") == [(str(path), "a1", 1)]


def test_lines_that_cannot_be_read_are_told_and_nothing_can_be_imported(shelf: Any) -> None:
    with_file(shelf, "wrong.csv")
    assert not shelf.has("Import")
    said = [(row.get("title"), row.get("detail")) for row in shelf.shell.sheet.data]
    assert ("Line 3", "'2026-02-33' is no date.") in said
    assert ("", "And 11 more lines.") in said
    shelf.tap("Close")
    assert shelf.services.calls("take_in_file") == []


def test_a_file_with_nothing_new_says_so(shelf: Any) -> None:
    with_file(shelf, "known.csv")
    assert "No day in it is new." in [row.get("detail") for row in shelf.shell.sheet.data]
    assert not shelf.has("Import")


def test_a_device_without_a_way_to_choose_says_so(shelf: Any) -> None:
    shelf.services.device.files = None
    shelf.tap(reach(shelf, "Import a logger"))
    assert "This device offers no way to choose a file." in shelf.words()
