"""A meal may cost a second visit: what is left over is taken out after a few days, sooner when warm."""

from __future__ import annotations

from dataclasses import replace

from boxside.core.care.days import day_text, n_days
from boxside.core.care.windows import after, is_open, postponed, window_due
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Profile

_CLOSED_BY = ("meal_taken_out", "cleaned", "substrate_renewed", "confirmed_empty")


def meal_out_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when the last meal's leftovers are to be taken out; None where they were, or none was given."""
    fed = facts.latest.get("fed")
    if fed is None or not is_open(fed, facts.latest_of(*_CLOSED_BY)):
        return None
    window = profile.window("meal_out")
    text = f"Fed on {day_text(fed.day)}; leftovers come out after about {n_days(window.on)}."
    due = window_due(facts, "meal_out", fed.day, window, Reason("meal_out", fed.event, window.on, text))
    due = _warmer(due, facts, profile)
    leftovers = _leftovers_since(facts, fed)
    if leftovers is not None:
        due = _hastened(due, leftovers)
    return postponed(due, facts, leftovers)


def _leftovers_since(facts: BoxFacts, fed: Seen) -> Seen | None:
    sign = facts.latest.get("appetite")
    if sign is None or sign.fields.get("appetite") != "leftovers" or sign.day <= fed.day:
        return None
    return sign


def _warmer(due: Due, facts: BoxFacts, profile: Profile) -> Due:
    if facts.area_mean_c is None or facts.area_mean_c < profile.number("warm.from_c"):
        return due
    days = min(profile.days("warm.meal_out_days"), profile.window("meal_out").on)
    text = f"The area is warm, {facts.area_mean_c:.0f} °C on average, so {n_days(days)} sooner."
    return _sooner(due, days, Reason("warm", None, -days, text)) if days else due


def _hastened(due: Due, sign: Seen) -> Due:
    days = max((due.on - sign.day).days, 0)
    text = f"Leftovers seen on {day_text(sign.day)}."
    return _sooner(due, days, Reason("leftovers", sign.event, -days, text))


def _sooner(due: Due, days: int, reason: Reason) -> Due:
    on = after(due.on, -days)
    earliest, latest = min(due.earliest, on), after(due.latest, -days)
    return replace(due, earliest=earliest, on=on, latest=latest, reasons=(*due.reasons, reason))
