"""Going away: days by steppers, who is unfed too long, the helper's page as PDF and text."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from tests.ui.fake_colony import colony
from tests.ui.test_ahead import reach

pytestmark = pytest.mark.screen


@pytest.fixture
def away(start: Any) -> Any:
    """Return a driver that stands on Away."""
    driver = start(colony())
    driver.tap("More")
    driver.tap("Away")
    return driver


def test_the_trip_is_set_by_steppers(away: Any) -> None:
    assert away.services.calls("away_view") == [(date(2026, 5, 29), date(2026, 6, 5), "")]
    away.tap("Last day at home Fri 29 May")
    away.tap("More")
    away.tap("Done")
    away.tap("Back on Sat 6 Jun")
    for _ in range(3):
        away.tap("More")
    away.tap("Done")
    assert away.services.calls("away_view")[-1] == (date(2026, 5, 30), date(2026, 6, 9), "")
    assert away.has("Back on Tue 9 Jun") or any(row.get("title") == "Back on Tue 9 Jun" for row in away.page.data)


def test_the_trip_stays_set_and_a_day_too_far_cannot_be_set(away: Any) -> None:
    away.tap("Back on Fri 5 Jun")
    away.tap("Keypad")
    away.type("399")
    away.tap("Done")
    assert "A number from 1 to 398, please." in away.words()
    away.tap("Cancel")
    away.page._set("away_for", 12)
    away.tap("Back")
    away.tap("Away")
    assert away.services.calls("away_view")[-1] == (date(2026, 5, 29), date(2026, 6, 10), "")


def test_the_latest_safe_return_stands_first_with_the_boxes_that_set_it(away: Any) -> None:
    safe = next(row for row in away.page.data if row.get("title", "").startswith("Latest safe return"))
    assert (safe["title"], safe["detail"], safe["icon"]) == ("Latest safe return Mon 1 Jun", "Set by B23.", "late")


def test_who_is_unfed_too_long_is_told_by_box(away: Any) -> None:
    late = [row for row in away.page.data if row.get("is_late") and row["viewclass"] == "Row"]
    assert [row["title"] for row in late] == ["Check moisture: 11 boxes", "Feed: 1 box", "Take the meal out: 1 box"]
    away.tap(reach(away, "Check moisture: 11 boxes"))
    parts = [(row["label"], row["value"]) for row in away.shell.sheet.data]
    assert parts[0] == ("B01, from Tue 2 Jun", "4 days")
    assert len(parts) == 11


def test_what_to_do_on_the_last_day_tells_where_for_whom_and_why(away: Any) -> None:
    titles = [row.get("title", "") for row in away.page.data]
    at = titles.index("On the last day, Fri 29 May")
    assert titles[at + 1] == "Check moisture: 7 boxes"
    away.tap(reach(away, "Check moisture: 7 boxes"))
    words = away.words()
    assert "B01 · Cellar shelf 1" in words
    assert "1 larvae, instar 4. Late from 4 Jun, before the return on 5 Jun." in words


def test_the_helper_is_named_and_gets_days_and_what_may_happen(away: Any) -> None:
    away.tap("Helper: nobody named")
    away.shell.sheet.ids.entry.text = "Kim"
    away.tap("Done")
    assert away.services.calls("away_view")[-1] == (date(2026, 5, 29), date(2026, 6, 5), "Kim")
    titles = [row.get("title", "") for row in away.page.data]
    assert "Helper, Mon 1 Jun" in titles
    assert titles.index("What may happen meanwhile") < titles.index("Males emerge in B04")
    away.tap(reach(away, "Females emerge"))
    assert "degree-days" in away.words()


def test_the_page_is_saved_as_pdf_and_text_and_says_where(away: Any) -> None:
    away.page.helper = "Kim"
    away.tap(reach(away, "Save the helper"))
    assert away.services.calls("save_sheet") == [(date(2026, 5, 29), date(2026, 6, 5), "Kim")]
    assert "/data/boxside/exports/away_2026-05-29_2026-06-05.pdf" in away.words()
    assert "/data/boxside/exports/away_2026-05-29_2026-06-05.txt" in away.words()
    assert away.services.device.haptics.felt == ["confirm"]


def test_where_nothing_is_due_one_may_stay_away(start: Any) -> None:
    driver = start(colony())
    driver.services.settings["ahead"] = "quiet"
    driver.tap("More")
    driver.tap("Away")
    said = [row.get("detail", "") for row in driver.page.data]
    assert "Nothing is due, however long you stay away." in said
    assert "Nothing is late, even if nobody comes." in said
