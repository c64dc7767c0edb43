"""The season, the places, the nudge of an open app, photographs and moments, driven by touches."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from boxside.core.values.views import Notice, NudgeView
from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen


def test_a_tap_on_the_picture_tells_its_numbers(start: Any) -> None:
    driver = start(colony())
    driver.tap("Season")
    chart = driver.page.ids.chart
    hit = chart.drawing.hits[0]
    driver.at(*chart.to_window(chart.x + hit.x, chart.top - hit.y)).down().up()
    driver.settle()
    assert chart.tip.text == hit.label


def test_sections_come_one_by_one_and_by_name(start: Any) -> None:
    driver = start(colony())
    driver.tap("Season")
    assert "1 of 11" in driver.words()
    first = driver.page.heading
    driver.tap("Next one")
    assert driver.page.heading != first
    driver.tap("2 of 11")
    driver.shell.sheet.choose(10)
    driver.settle()
    assert driver.page.chart is None
    assert "How many eggs hatched" in driver.words()
    assert "2: too few for a picture" in driver.words()
    assert not driver.has("Next one")


def test_season_and_cohort_are_chosen(start: Any) -> None:
    driver = start(colony())
    driver.tap("Season")
    for words in ("2026-01-01", "Other season", "Breeding 2026", "Breeding 2026", "One cohort", "Birch 2025"):
        driver.tap(words)
    asked = [("", None, None, ""), ("Breeding 2026", None, None, ""), ("Breeding 2026", None, None, "c2")]
    assert driver.services.calls("season_view") == asked
    assert "Birch 2025, Breeding 2026" in driver.words()


def test_an_earlier_year_is_chosen_by_stepper(start: Any) -> None:
    driver = start(colony())
    driver.tap("Season")
    for words in ("2026-01-01", "Other season", "Another year", "Done"):
        driver.tap(words)
    assert driver.services.calls("season_view")[-1] == ("", date(2025, 1, 1), date(2025, 12, 31), "")


def test_export_goes_into_the_data_folder_and_says_where(start: Any) -> None:
    driver = start(colony())
    driver.tap("Season")
    for words in ("2026-01-01", "Export as CSV"):
        driver.tap(words)
    out = Path("/data/boxside/exports/2026-01-01_2026-11-25")
    assert driver.services.calls("export_season") == [(out, date(2026, 1, 1), date(2026, 11, 25))]
    assert str(out) in driver.words()
    assert driver.services.device.haptics.felt == ["confirm"]


def test_a_failed_export_is_told(start: Any) -> None:
    driver = start(colony())
    driver.tap("Season")
    driver.services.fail_next = "The disk is full. Free some room."
    driver.page.export()
    driver.settle()
    assert "The disk is full." in driver.words()


# ---- places ----


def test_the_bar_leads_to_every_place_and_more_to_the_others(start: Any) -> None:
    from boxside.ui.places import ON_BAR, ON_MORE
    from boxside.ui.words import say

    driver = start(colony())
    for place in ON_BAR:
        driver.tap(next(target for target in driver.targets() if getattr(target, "place", "") == place.name))
        assert driver.shell.here == place.name
    for place in ON_MORE:
        driver.shell.go("more")
        driver.settle()
        driver.tap(say(place.name))
        assert driver.shell.here == place.name
        assert driver.shell.bar.here == "more"
        driver.key(27)
        assert driver.shell.here == "more"


# ---- the nudge of an open app ----


class Asked:
    """Answers like the action; counts how often it was asked."""

    def __init__(self, view: NudgeView | None) -> None:
        self.view = view
        self.n = 0

    def __call__(self, services: Any) -> NudgeView | None:
        self.n += 1
        return self.view


NOT_SHOWN = Notice("The nudge was not shown: no notification service.", "The log is as before.", "Start one.", bad=True)


def test_an_open_desktop_asks_once_a_minute_and_tells_a_failure_once(start: Any) -> None:
    from kivy.clock import Clock

    asked = Asked(NudgeView(date(2026, 11, 25), "3 boxes are due", ("B01",), False, NOT_SHOWN))
    services = colony()
    services.device.name = "desktop"
    driver = start(services, nudge_if_time=asked)
    (timer,) = [event for event in Clock.get_events() if event.timeout == 60.0]
    timer.get_callback()(0)
    driver.settle()
    assert "The nudge was not shown" in driver.words()
    timer.get_callback()(0)
    assert asked.n == 1  # what is on a sheet is not covered by another one
    driver.tap("Close")
    timer.get_callback()(0)
    assert asked.n == 2
    assert driver.shell.sheet is None


def test_a_nudge_that_was_posted_shows_nothing_in_the_app(start: Any) -> None:
    services = colony()
    services.device.name = "desktop"
    driver = start(services, nudge_if_time=Asked(NudgeView(date(2026, 11, 25), "3 boxes are due", ("B01",), True)))
    driver.app.ask_for_nudge()
    assert driver.shell.sheet is None
    assert not driver.shell.bar.is_toast


def test_a_phone_is_not_asked_for_nudges(start: Any) -> None:
    from kivy.clock import Clock

    start(colony())
    assert not [event for event in Clock.get_events() if event.timeout == 60.0]


# ---- when, and photographs ----


def correct(driver: Any) -> None:
    """Open the correction of the newest entry."""
    for words in ("Box", "Past"):
        driver.tap(words)
    driver.page.open_entry(driver.page.view.history[0])
    driver.settle()
    driver.tap("Correct")
    driver.tap("When: 20 Nov")


def test_an_entry_is_moved_by_how_long_ago_it_was(start: Any) -> None:
    driver = start(colony())
    correct(driver)
    driver.tap("30 minutes ago")
    driver.tap("Save")
    assert driver.services.moved_to_ms == [driver.services.clock.now_ms() - 30 * 60_000]


def test_an_entry_is_moved_to_a_day_and_time_of_the_keeper_zone(start: Any) -> None:
    """The fake clock stands on 25 November 2026, 21:00 in Berlin, which is UTC+1."""
    driver = start(colony())
    correct(driver)
    for words in ("Day and time", "Yesterday", "Less", "Done", "More", "Done"):
        driver.tap(words)
    assert driver.has("When: 2026-11-24, 19:20")
    driver.tap("Save")
    (at_ms,) = driver.services.moved_to_ms
    assert driver.services.clock.now_ms() - at_ms == (25 * 60 + 40) * 60_000


def test_day_and_time_start_from_when_the_entry_says_it_happened(start: Any) -> None:
    driver = start(colony())
    correct(driver)
    for words in ("Day and time", "The same day, 2026-11-20", "Done", "More", "Done"):
        driver.tap(words)
    assert driver.has("When: 2026-11-20, 20:20")


def test_an_entry_that_is_not_moved_keeps_its_time(start: Any) -> None:
    driver = start(colony())
    correct(driver)
    driver.shell.back()
    driver.page.correct(driver.page.view.history[0])
    driver.settle()
    driver.tap("Save")
    assert driver.services.moved_to_ms == [None]


def test_a_photograph_is_enlarged_tinted_and_turned(start: Any) -> None:
    services = colony(photos=["/nowhere/a.png", "/nowhere/b.png"])
    driver = start(services, theme="red")
    driver.tap("Box")
    driver.page.ids.rows.scroll_y = 0
    driver.settle()
    thumbs = [target for target in driver.targets() if type(target).__name__ == "Thumb"]
    driver.tap(next(thumb for thumb in thumbs if thumb.source.endswith("a.png")))
    assert "Photo 1 of 2" in driver.words()
    picture = next(w for w in driver.shell.sheet.walk() if type(w).__name__ == "AsyncImage")
    assert picture.source == "/nowhere/a.png"
    assert tuple(picture.color[:3]) == (1, 0, 0)
    driver.tap("Next one")
    assert picture.source == "/nowhere/b.png"
    assert not driver.has("Next one")
    driver.tap("Close")
    assert driver.shell.sheet is None
