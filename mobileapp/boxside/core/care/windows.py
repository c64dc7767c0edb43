"""From an anchor day and a window to a due task, and how a postponement moves it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from boxside.core.care.days import day_text, n_days
from boxside.core.care.tasks import urgency
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Window


def after(day: date, n: int) -> date:
    """Return the day `n` days later; the last day of the calendar where there is no such day."""
    try:
        return day + timedelta(days=n)
    except OverflowError:
        return date.max if n > 0 else date.min


def window_due(facts: BoxFacts, task: str, anchor: date, window: Window, reason: Reason) -> Due:
    """Return a task that is due a window after an anchor day."""
    return Due(
        box=facts.box,
        task=task,
        earliest=after(anchor, window.earliest),
        on=after(anchor, window.on),
        latest=after(anchor, window.latest),
        reasons=(reason,),
        urgency=urgency(task, facts),
    )


def same_day_due(facts: BoxFacts, task: str, day: date, reason: Reason, more: int = 0) -> Due:
    """Return a task that is due on the day something was seen, and late the day after."""
    return Due(facts.box, task, day, day, after(day, 1), (reason,), urgency(task, facts, more))


def is_open(began: Seen | None, *ended: Seen | None) -> bool:
    """Return whether something has begun that nothing since has closed; one moment counts as closed."""
    if began is None:
        return False
    return all(end is None or end.at_ms < began.at_ms for end in ended)


def number_of(seen: Seen, name: str, default: int) -> int:
    """Return a whole-number field of an event; the default where it is absent or no number."""
    value = seen.fields.get(name)
    return default if isinstance(value, bool) or not isinstance(value, int | float) else round(value)


def postponed(due: Due, facts: BoxFacts, trigger: Seen | None = None) -> Due:
    """Return the task as the keeper's latest `later` leaves it: moved, with all its reasons kept.

    A sign that was seen after the keeper said later (`trigger`) is news, and the task is not moved.
    The day after which it is late moves only where the new day lies beyond it.
    """
    later = facts.latest.get(f"later:{due.task}")
    if later is None or (trigger is not None and trigger.at_ms > later.at_ms):
        return due
    n = max(0, number_of(later, "days", 1))
    on = after(later.day, n)
    if on <= due.on:
        return due
    text = f"Put off on {day_text(later.day)} for {n_days(n)}."
    reason = Reason("later", later.event, (on - due.on).days, text)
    return replace(due, on=on, latest=max(due.latest, on), reasons=(*due.reasons, reason))
