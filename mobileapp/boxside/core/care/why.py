"""A due task and today, in the one short sentence that a keeper reads at arm's length."""

from __future__ import annotations

from datetime import date

from boxside.core.care.days import day_text, n_days, weekday_text
from boxside.core.values.due import Due, Reason

_NEAR_DAYS = 6


def is_late(due: Due, today: date) -> bool:
    """Return whether the last good day of a task is past."""
    return today > due.latest


def when(due: Due, today: date) -> str:
    """Return since when a task is due, or from when on, without a full stop.

    A day of the past or coming six is named by its weekday, any other by its date.
    """
    if is_late(due, today):
        return f"{n_days((today - due.latest).days)} late"
    if today == due.on:
        return "Due today"
    word, gap = ("since", (today - due.on).days) if today > due.on else ("on", (due.on - today).days)
    return f"Due {word} {weekday_text(due.on) if gap <= _NEAR_DAYS else day_text(due.on)}"


def decisive(due: Due) -> Reason | None:
    """Return the one reason that says most: the last that hastened the task, else the rule it rests on."""
    hastening = [reason for reason in due.reasons if reason.days < 0]
    return hastening[-1] if hastening else next(iter(due.reasons), None)


def why(due: Due, today: date) -> str:
    """Return when a task is due and why, in one short sentence.

    Examples
    --------
    >>> fed = Reason("feeding.young", "e1", 7, "Last fed on 3 May; young larvae eat about every week.")
    >>> days = date(2026, 5, 8), date(2026, 5, 10), date(2026, 5, 12)
    >>> why(Due("b", "feed", *days, (fed,)), date(2026, 5, 11))
    'Due since Sunday: last fed on 3 May; young larvae eat about every week.'
    """
    reason = decisive(due)
    if reason is None:
        return f"{when(due, today)}."
    return f"{when(due, today)}: {reason.text[:1].lower()}{reason.text[1:]}"
