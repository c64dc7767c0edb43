"""The one sentence for the screen: when, by weekday or date, and the reason that says most."""

from __future__ import annotations

from datetime import date

import pytest

from boxside.core.care import due_by, is_late, task_label, why
from boxside.core.values.due import Due, Reason

ON, LATEST = date(2026, 5, 6), date(2026, 5, 8)
FED = Reason("feeding.young", "e1", 7, "Last fed on 29 April; young larvae eat about every week.")
HUNGRY = Reason("searching", "e2", -3, "Searching along the edges on 6 May, so 3 days sooner.")
PUT_OFF = Reason("later", "e3", 2, "Put off on 4 May for 2 days.")


def a_due(*reasons: Reason, task: str = "feed", box: str = "b1", urgency: int = 20) -> Due:
    return Due(box, task, date(2026, 5, 4), ON, LATEST, reasons, urgency)


@pytest.mark.parametrize(
    ("today", "said"),
    [
        (date(2026, 4, 29), "Due on 6 May"),
        (date(2026, 4, 30), "Due on Wednesday"),
        (date(2026, 5, 6), "Due today"),
        (date(2026, 5, 7), "Due since Wednesday"),
        (date(2026, 5, 8), "Due since Wednesday"),
        (date(2026, 5, 9), "1 day late"),
        (date(2026, 5, 11), "3 days late"),
    ],
)
def test_why_then_says_when_by_the_day_it_is_read(today: date, said: str) -> None:
    assert why(a_due(FED), today) == f"{said}: last fed on 29 April; young larvae eat about every week."


def test_late_when_the_latest_day_itself_then_not_yet() -> None:
    assert not is_late(a_due(FED), LATEST)
    assert is_late(a_due(FED), date(2026, 5, 9))


def test_why_when_something_hastened_it_then_that_is_said() -> None:
    assert why(a_due(FED, HUNGRY), ON) == "Due today: searching along the edges on 6 May, so 3 days sooner."


def test_why_when_put_off_then_still_says_the_rule() -> None:
    assert why(a_due(FED, PUT_OFF), ON).startswith("Due today: last fed on 29 April")


def test_why_when_there_is_no_reason_then_only_when() -> None:
    assert why(a_due(), ON) == "Due today."


def test_order_when_equally_pressing_then_young_first_and_late_before_all() -> None:
    old, young = a_due(FED, box="old", urgency=25), a_due(FED, box="young", urgency=29)
    late = Due("late", "clean", date(2026, 4, 1), date(2026, 4, 2), date(2026, 4, 3), (FED,), 1)
    assert [due.box for due in due_by([old, late, young], ON)] == ["late", "young", "old"]


def test_label_when_a_newer_app_names_a_task_then_readable() -> None:
    assert task_label("feed") == "Feed"
    assert task_label("weigh_all") == "Weigh all"
