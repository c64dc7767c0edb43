"""The end of a winter rest and of a quarantine."""

from __future__ import annotations

from datetime import date

from boxside.core.care.days import day_text
from boxside.core.care.windows import after, is_open, postponed, window_due
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts
from boxside.core.values.profile import Profile


def wake_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when the winter rest is to end; None where none has begun or nothing lives in the box."""
    rest = facts.rest
    if rest is None or not facts.lines:
        return None
    where = "its area" if rest.where == "area" else "this box"
    if rest.until is not None:
        days, anchor = (rest.until - rest.since).days, rest.until
        text = f"Winter rest of {where} since {day_text(rest.since)}, planned until {day_text(rest.until)}."
    else:
        days = profile.days("rest_days")
        anchor = after(rest.since, days)
        since = day_text(rest.since)
        text = f"Winter rest of {where} since {since}, without a planned end; {days} days are usual."
    reason = Reason("wake", rest.event, days, text)
    return postponed(window_due(facts, "wake", anchor, profile.window("wake"), reason), facts)


def quarantine_end_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when a quarantine is over, logged or because animals were received from outside."""
    if not facts.lines:
        return None
    window = profile.window("quarantine")
    began, ended = facts.latest.get("quarantine_began"), facts.latest.get("quarantine_ended")
    if began is not None and is_open(began, ended):
        text = f"In quarantine since {day_text(began.day)}."
        anchor = _planned(began.fields.get("until"), after(began.day, window.on))
        reason = Reason("quarantine", began.event, (anchor - began.day).days, text)
    else:
        days = [c.started_on for c in facts.cohorts if c.origin == "received" and c.started_on is not None]
        came = max(days, default=None)
        if came is None or (ended is not None and ended.day >= came) or not _came_here(facts, after(came, window.on)):
            return None
        anchor = after(came, window.on)
        text = f"Received from outside on {day_text(came)}; kept apart until it is sure to be healthy."
        reason = Reason("quarantine", None, window.on, text)
    due = window_due(facts, "quarantine_end", after(anchor, -window.on), window, reason)
    return postponed(due, facts)


def _came_here(facts: BoxFacts, until: date) -> bool:
    """Return whether the animals were received into this box, or moved to it while still in quarantine."""
    moved = facts.latest.get("transfer")
    into = moved is not None and moved.fields.get("to_box") == facts.box
    if into and facts.latest_of("stocked", "cohort_started") is None:
        return moved is not None and moved.day <= until
    return True


def _planned(until: object, otherwise: date) -> date:
    """Return the planned day of a field that holds an ISO date; the other where it holds none."""
    if not isinstance(until, str):
        return otherwise
    try:
        return date.fromisoformat(until)
    except ValueError:
        return otherwise
