"""Prey: every figure tells its sum, stock is logged with a few taps and taken back with one."""

from __future__ import annotations

from typing import Any

import pytest

from boxside.core.values.ahead import NewStock, Part, Sum
from tests.ui.fake_colony import colony
from tests.ui.test_ahead import reach

pytestmark = pytest.mark.screen


@pytest.fixture
def prey(start: Any) -> Any:
    """Return a driver that stands on Prey."""
    driver = start(colony())
    driver.tap("More")
    driver.tap("Prey")
    return driver


def told(driver: Any) -> list[tuple[str, str]]:
    """Return the parts that the sheet shows, a label and a value each."""
    return [(row["label"], row["value"]) for row in driver.shell.sheet.data if "label" in row]


def row_of(driver: Any, title: str) -> dict[str, Any]:
    """Return the row whose title begins so."""
    return next(row for row in driver.page.data if row.get("title", "").startswith(title))


def test_the_day_it_runs_out_tells_what_is_left_after_each_meal(prey: Any) -> None:
    row = row_of(prey, "Runs out on")
    assert (row["title"], row["detail"]) == ("Runs out on Sun 7 Jun", "B13 is the first to go without.")
    assert row["is_late"]
    prey.tap(reach(prey, "Runs out on"))
    parts = told(prey)
    assert parts[:3] == [("stock", "115"), ("kept for breeding", "−12"), ("B01 on 28 May", "−2.4")]
    assert parts[-1] == ("Comes to", "= −133.9")


def test_the_demand_tells_its_weeks_and_each_week_its_sum(prey: Any) -> None:
    prey.tap(reach(prey, "200 needed in 8 weeks"))
    prey.tap("Week from 4 Jun")
    parts = told(prey)
    assert parts[0] == ("B01 on 28 May", "2.4")
    assert parts[-1] == ("Comes to", "= 22.8")
    assert round(sum(float(value) for _, value in parts[:-1]), 1) == 22.8


def test_a_product_shows_its_factors_and_that_it_was_rounded_up(prey: Any) -> None:
    prey.tap(reach(prey, "Set aside 15 to breed"))
    assert [value for _, value in told(prey)] == ["29.61", "× 0.25", "× 2", "= 14.8, so 15"]
    assert "common practice, no source" in prey.words()
    prey.tap("Note")
    prey.type("16")
    prey.tap("Done")
    assert prey.services.calls("enter_breeders") == [("garden snail", 16)]


def test_a_sum_of_nothing_comes_to_nothing() -> None:
    from boxside.ui.foretold import _come_to, number_words

    assert _come_to(Sum(0, "snails")) == "0"
    assert _come_to(Sum(10, "snails", (Part("weeks", 4), Part("a week", 2.5)), True)) == "10"
    assert number_words(7.25) == "7.2"


def test_stock_of_a_batch_is_logged_without_a_keyboard(prey: Any) -> None:
    prey.tap("Log stock")
    prey.tap("Garden snail")
    prey.tap("So many there are")
    prey.type("45")
    prey.tap("Done")
    prey.tap("Q7")
    prey.tap("Done")
    prey.tap("2 weeks")
    assert prey.services.calls("enter_stock") == [(NewStock("garden snail", n=45, batch="Q7", size_mm=6.0), 14)]
    assert "45 garden snail" in prey.shell.bar.toast_text
    prey.tap("Undo")
    assert prey.services.voided == ["k1"]


def test_a_new_batch_that_came_has_a_code_and_may_lack_a_size(prey: Any) -> None:
    for tap in ("Log stock", "Slug", "So many came"):
        prey.tap(tap)
    prey.type("30")
    for tap in (
        "Done",
        "A new batch",
        "a-m",
        "B",
        "123",
        "7",
        "Done",
        "Skip",
        "Another number of days",
        "More",
        "Done",
    ):
        prey.tap(key(prey, tap) if tap in ("a-m", "123") else tap)
    assert prey.services.calls("enter_stock") == [(NewStock("slug", added=30, batch="B7"), 15)]


def key(driver: Any, name: str) -> Any:
    """Return the key of the keypad that does that."""
    return next(target for target in driver.targets() if getattr(target, "key", "") == name)


def test_a_stock_that_cannot_be_saved_is_kept_and_can_be_tried_again(prey: Any) -> None:
    prey.services.fail_next = "The disk is full. Nothing was saved. Free some room."
    for tap in ("Log stock", "Slug", "So many there are"):
        prey.tap(tap)
    prey.type("9")
    for tap in ("Done", "No batch", "Skip", "None"):
        prey.tap(tap)
    assert "Not saved" in prey.words()
    prey.tap("Try again")
    assert prey.services.calls("enter_stock") == [(NewStock("slug", n=9), 0)]


def test_a_batch_tells_who_ate_it_and_who_refused(prey: Any) -> None:
    prey.tap(reach(prey, "Garden snail Q7"))
    prey.tap("Which boxes ate it?")
    words = prey.words()
    assert "Suspect: refused by B02." in words
    assert ("27 May, B02", "refused") in told(prey)
    assert "Fed to 3 boxes" in words


def test_a_batch_is_counted_again_in_three_taps(prey: Any) -> None:
    prey.tap(reach(prey, "Garden snail own 14 mm"))
    prey.tap("Count again")
    prey.type("41")
    prey.tap("Done")
    assert prey.services.calls("enter_stock") == [(NewStock("garden snail", n=41, batch="own 14 mm"), 0)]


def test_quarantine_meals_without_amount_and_what_fits_are_said(prey: Any) -> None:
    quarantined = row_of(prey, "Garden snail Q7")
    assert "In quarantine until 9 Jun" in quarantined["soft"]
    assert "3 meals without an amount" in quarantined["soft"]
    nothing = row_of(prey, "Instar 1: 55 larvae")
    assert nothing["detail"] == "Nothing in stock fits."
    assert nothing["is_late"]
    prey.tap(reach(prey, "Instar 4"))
    assert "Instar 4 takes 5 to 15 mm" in prey.words()


def test_cautions_stand_where_they_matter(prey: Any) -> None:
    said = [row.get("detail", "") for row in prey.page.data]
    assert any("rat lungworm: gloves, washed hands" in text for text in said[:3])
    titles = [row.get("title", "") for row in prey.page.data]
    regulated = next(n for n, text in enumerate(said) if text.startswith("Regulated"))
    assert titles.index("Apple snail") < regulated


def test_the_sheet_of_an_empty_store_asks_for_a_kind_in_words(start: Any) -> None:
    driver = start(colony())
    driver.services.settings["ahead"] = "quiet"
    driver.tap("More")
    driver.tap("Prey")
    assert "No stock logged yet." in [row.get("detail") for row in driver.page.data]
    driver.tap("Log stock")
    driver.shell.sheet.ids.entry.text = "Earthworms"
    driver.tap("Done")
    driver.tap("So many there are")
    driver.type("12")
    for tap in ("Done", "No batch", "Skip", "None"):
        driver.tap(tap)
    assert driver.services.calls("enter_stock") == [(NewStock("Earthworms", n=12), 0)]
