"""Days in words, the same in every sentence."""

from __future__ import annotations

from datetime import date

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def day_text(day: date, with_year: bool = False) -> str:
    """Return a day as it is read aloud, without the year unless asked for.

    Examples
    --------
    >>> day_text(date(2026, 5, 3))
    '3 May'
    """
    return f"{day.day} {MONTHS[day.month - 1]}" + (f" {day.year}" if with_year else "")


def weekday_text(day: date) -> str:
    """Return the weekday's name."""
    return _WEEKDAYS[day.weekday()]


def n_days(n: int) -> str:
    """Return a number of days in words.

    Examples
    --------
    >>> n_days(1), n_days(3)
    ('1 day', '3 days')
    """
    return f"{n} day" if n == 1 else f"{n} days"


def every(n: int) -> str:
    """Return an interval in words.

    Examples
    --------
    >>> every(1), every(7), every(21), every(10)
    ('every day', 'every week', 'every 3 weeks', 'every 10 days')
    """
    if n == 1:
        return "every day"
    if n % 7 == 0:
        return "every week" if n == 7 else f"every {n // 7} weeks"
    return f"every {n} days"
