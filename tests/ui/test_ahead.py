"""Ahead: weeks, expectations with their reasons, heavy days spread and taken back, the calendar file."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from tests.ui.fake_ahead import MOVED, TODAY
from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen


@pytest.fixture
def ahead(start: Any) -> Any:
    """Return a driver that stands on Ahead."""
    driver = start(colony())
    driver.tap("More")
    driver.tap("Ahead")
    return driver


def reach(driver: Any, words: str) -> Any:
    """Turn the pages with Down until a target whose words begin so shows in full; return it."""
    for _ in range(40):
        rows = (driver.shell.sheet or driver.page).ids.rows
        bottom, top = rows.to_window(0, rows.y)[1], rows.to_window(0, rows.top)[1]
        for target in driver.targets():
            named = getattr(target, "text", "") or getattr(target, "title", "")
            if named.startswith(words):
                middle = driver.centre(target)[1]
                if bottom + 8 < middle < top - 8:
                    return target
        if not driver.has("Down"):
            break
        driver.tap("Down")
    raise AssertionError(f"{words!r} is not to be reached")


def test_the_weeks_show_their_boxes_a_day_and_what_is_expected_in_them(ahead: Any) -> None:
    assert ahead.services.calls("ahead_view") == [(TODAY, TODAY + timedelta(days=27))]
    titles = [row.get("title", "") for row in ahead.page.data]
    assert "28 May to 3 Jun" in titles
    assert titles.index("28 May to 3 Jun") < titles.index("Males emerge in B04") < titles.index("4 Jun to 10 Jun")
    assert titles.index("4 Jun to 10 Jun") < titles.index("Females emerge in B04") < titles.index("11 Jun to 17 Jun")
    late = next(row for row in ahead.page.data if row.get("title") == "First larvae in B07")
    assert late["is_late"]
    assert late["detail"] == "should have happened by now"


def test_what_is_likelier_later_stands_below_the_weeks(ahead: Any) -> None:
    titles = [row.get("title", "") for row in ahead.page.data]
    assert titles.index("May begin, likelier later") < titles.index("Larvae pupate in B02")
    assert titles.count("Larvae pupate in B02") == 1


def test_an_expectation_tells_its_range_its_probability_and_its_reasons(ahead: Any) -> None:
    ahead.tap(reach(ahead, "Females emerge"))
    words = ahead.words()
    assert "Between 1 Jun and 10 Jun, likely 5 Jun" in words
    assert "within these days: 80 %" in words
    assert "It began on 12 Apr." in words
    assert "degree-days above 9 °C" in words
    ahead.tap("Close")
    assert ahead.shell.sheet is None


def test_a_week_tells_which_boxes_and_says_what_is_only_counted(ahead: Any) -> None:
    ahead.tap(reach(ahead, "66 visits"))
    assert "Thu 28 May: 8 boxes" in ahead.words()
    assert "B01" in ahead.words()
    ahead.tap("Close")
    ahead.page.tell_week(ahead.page.view.weeks[3])
    ahead.settle()
    assert "only counted" in ahead.words()


def test_heavy_days_are_relieved_above_the_mean_and_taken_back_at_once(ahead: Any) -> None:
    ahead.tap(reach(ahead, "Spread heavy days"))
    mean = sum((8, 3, 8, 14, 10, 11, 12, 4, 10, 9, 15, 2, 11, 10)) / 14
    assert ahead.services.calls("smooth_view") == [0, int(mean) + 2]
    ahead.tap("Put off")
    assert ahead.services.calls("spread_tasks") == [MOVED]
    assert ahead.services.device.haptics.felt == ["confirm"]
    assert len(ahead.services.calls("ahead_view")) == 2
    ahead.tap("Undo")
    assert ahead.services.voided == ["f1", "f2"]


def test_moves_say_how_far_and_that_sooner_needs_no_entry(ahead: Any) -> None:
    ahead.page.spread(None)
    ahead.settle()
    said = [(row.get("title"), row.get("detail")) for row in ahead.shell.sheet.data]
    assert ("B02: feed", "Mon 1 Jun, 1 day later") in said
    assert ("B01: renew the substrate", "Fri 29 May, 1 day sooner") in said
    assert ("Done sooner: no entry needed", None) in said


def test_where_no_day_is_heavy_all_days_can_be_evened_out(start: Any) -> None:
    driver = start(colony())
    driver.services.settings["ahead"] = "quiet"
    driver.tap("More")
    driver.tap("Ahead")
    driver.tap(reach(driver, "Spread heavy days"))
    assert not driver.has("Put off")
    driver.tap("Even out all days")
    assert driver.services.calls("smooth_view")[-1] == 0
    assert "even already" in driver.words()


def test_how_far_to_look_is_asked_and_kept(ahead: Any) -> None:
    ahead.tap(reach(ahead, "Look ahead 4 weeks"))
    ahead.tap("8 weeks")
    assert ahead.services.calls("ahead_view")[-1] == (TODAY, TODAY + timedelta(days=55))
    assert any(row.get("title") == "Look ahead 8 weeks" for row in ahead.page.data)


def test_the_calendar_file_is_written_and_says_where(ahead: Any) -> None:
    ahead.tap(reach(ahead, "Calendar file"))
    assert "/data/boxside/exports/ahead_2026-05-28_2026-06-24.ics" in ahead.words()
    ahead.tap("Close")
    ahead.services.fail_next = "The disk is full. Nothing was written. Free some room."
    ahead.page.export(None)
    ahead.settle()
    assert "The disk is full." in ahead.words()


def test_whether_they_meet_is_told_with_what_cooling_changes(ahead: Any) -> None:
    ahead.tap(reach(ahead, "Do they meet?"))
    assert "58 % of them meet a living male" in ahead.words()
    labels = {row["label"]: row["value"] for row in ahead.shell.sheet.data if "label" in row}
    assert labels["males 3 °C cooler"] == "83 % meet (60 to 97)"


def test_no_widget_is_collected_while_the_colours_change(ahead: Any) -> None:
    """Kivy would go on to tell it of the colour, and fail."""
    import gc

    seen: list[bool] = []

    def told(*_: Any) -> None:
        seen.append(gc.isenabled())

    was = gc.isenabled()
    gc.enable()
    ahead.app.theme.fbind("ink", told)
    ahead.app.use_theme("red")
    after = gc.isenabled()
    (gc.enable if was else gc.disable)()
    assert (seen, after) == ([False], True)


def test_there_is_one_way_back(ahead: Any) -> None:
    ahead.tap("Back")
    assert ahead.shell.here == "more"
