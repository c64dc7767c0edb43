"""Growth of a box, and the measuring card in the settings, driven by touches."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen


def said(driver: Any) -> str:
    """Return all that the list says, also what is scrolled away."""
    return "\n".join(
        f"{row.get('title', '')}\n{row.get('detail', '')}\n{row.get('label', '')} {row.get('value', '')}"
        for row in driver.page.data
    )


@pytest.fixture
def growth(start: Any) -> Any:
    """Return a driver on Growth of B01, reached by taps."""
    driver = start(colony())
    driver.tap("Box")
    driver.page.ids.rows.scroll_y = 0.4
    driver.settle()
    driver.tap("Growth")
    return driver


def test_growth_shows_sizes_rates_instars_advice_and_earlier_cohorts(growth: Any) -> None:
    text = said(growth)
    for part in (
        "Growth per day", "0.09 mm ± 0.01", "Growth per moult", "Quartiles 12.6 to 14.9 mm", "Grade by size",
        "2 runts", "Expect pupation", "Instar 4: 13, 61 % probable, usually 12.4 mm", "two groups",
        "Birch 2025: 14 % longer now", "larvae stretch",
    ):  # fmt: skip
        assert part in text
    chart = growth.page.data[0]["chart"] if "chart" in growth.page.data[0] else growth.page.data[1]["chart"]
    dots = chart.series[-1]
    assert len(dots.x) == 80
    assert len(dots.boxes) == 4


def test_grading_starts_from_there(growth: Any) -> None:
    growth.page.grade(None)
    growth.settle()
    assert "B01: Transfer" in growth.words()
    assert growth.has("Grade by size")


def test_a_photo_from_growth_comes_back_to_it(growth: Any) -> None:
    growth.tap("Photo")
    assert growth.shell.here == "photo"
    growth.tap("Back")
    assert growth.shell.here == "growth"
    growth.tap("Back")
    assert growth.shell.here == "box"
    growth.tap("Back")
    assert growth.shell.here == "round", "the box still knows from where it was opened"


def test_lengths_are_entered_by_hand_one_after_another(growth: Any) -> None:
    growth.page.enter_lengths(None)
    growth.settle()
    for keys in ("12.5", "9"):
        growth.type(keys)
        growth.tap("Done")
    assert "2 so far: 12.5 · 9" in growth.words()
    growth.tap("Undo")
    assert "1 so far: 12.5" in growth.words()
    growth.type("13")
    growth.tap("Done")
    growth.tap("No more")
    assert growth.services.calls("accept_lengths") == [("id1", (12.5, 13.0))]
    growth.tap("Undo")
    assert growth.services.voided == ["m1"]


def test_a_length_that_no_larva_has_is_not_taken(growth: Any) -> None:
    growth.page.enter_lengths(None)
    growth.settle()
    growth.type("500")
    growth.tap("Done")
    assert "A number from 0.3 to 200, please." in growth.words()
    growth.tap("Cancel")
    assert growth.services.calls("accept_lengths") == []


def test_a_box_without_sizes_says_what_is_missing(start: Any) -> None:
    services = colony()
    services.settings["growth"] = "nothing"
    driver = start(services)
    driver.shell.go("growth", box_id="id2", title="B02")
    driver.settle()
    assert driver.page.data[0]["chart"].nothing.startswith("measure a photo")
    assert "Enter lengths" in said(driver)


# ---- the card ----


@pytest.fixture
def card(start: Any) -> Any:
    """Return a driver on the measuring card, reached from the settings."""
    driver = start(colony())
    driver.tap("More")
    driver.tap("Settings")
    driver.page.open_card(None)
    driver.settle()
    return driver


def test_the_settings_lead_to_the_card_in_place_of_its_line(start: Any) -> None:
    driver = start(colony())
    driver.tap("More")
    driver.tap("Settings")
    titles = [row.get("title") for row in driver.page.data]
    assert titles[titles.index("Measuring") + 1] == "Measuring card"
    assert "Printed check line" not in titles


def test_the_card_is_made_in_both_sizes_and_says_where_it_is(card: Any) -> None:
    assert "148 × 105 mm" in said(card)
    assert "85.6 × 54 mm" in said(card)
    for words, size in (("Card, A6", "a6"), ("Card, size of a bank card", "card")):
        card.tap(words)
        assert f"/data/boxside/exports/measuring-card-{size}.pdf" in card.words()
        assert "Print it at 100 %" in card.words()
        assert not card.has("Share")
        card.tap("Close")
    assert card.services.calls("save_card") == ["a6", "card"]
    card.tap("Back")
    assert card.shell.here == "settings"


def test_where_files_can_be_shared_the_card_can_be(card: Any) -> None:
    shared = []
    card.services.device.files.has_share = True
    card.services.device.files.share = lambda paths, kind: shared.append((paths, kind))
    card.tap("Card, A6")
    card.tap("Share")
    assert shared == [(["/data/boxside/exports/measuring-card-a6.pdf"], "application/pdf")]


def test_a_share_that_fails_is_told(card: Any) -> None:
    from boxside.core.values.errors import DeviceError

    def refuses(*_: Any) -> None:
        raise DeviceError("Nothing on this phone takes the file. Save it instead.")

    card.services.device.files.has_share = True
    card.services.device.files.share = refuses
    card.tap("Card, A6")
    card.tap("Share")
    assert "Nothing on this phone takes the file." in card.words()


def test_the_check_line_is_entered_as_it_was_measured(card: Any) -> None:
    card.page.ask_bar(None)
    card.settle()
    card.type("44")
    card.tap("Done")
    assert "A number from 45 to 55, please." in card.words()
    for _ in range(2):
        card.tap(next(target for target in card.targets() if getattr(target, "key", "") == "erase"))
    card.type("49.4")
    card.tap("Done")
    assert card.services.settings["bar"] == pytest.approx(49.4)
    assert "Check line: 49.4 mm" in said(card)


def test_a_device_that_is_not_there_is_told_and_nothing_is_asked_of_it() -> None:
    from boxside.core.values.errors import DeviceError
    from boxside.ui.acts import can_share, can_take_photo, share_file, take_photo

    services = colony()
    assert not can_take_photo(services)
    assert not can_share(services)
    with pytest.raises(DeviceError, match="offers no camera"):
        take_photo(services, lambda path: None)
    with pytest.raises(DeviceError, match="stays where it is"):
        share_file(services, Path("/a.pdf"), "application/pdf")
