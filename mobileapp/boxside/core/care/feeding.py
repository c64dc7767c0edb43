"""Feeding: the youngest feeding stage decides, what was seen hastens or delays it, each with its reason.

Notes
-----
The due day only ever grows with the day of the last meal: what delays a meal is a day before which none is
due (sign + hold), not a length added to the interval, and a sign of hunger counts only until the next meal.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

from boxside.core.care.days import day_text, every, n_days
from boxside.core.care.meals import Meal, arrived_on, first_week_offset_days, last_meal
from boxside.core.care.tasks import urgency
from boxside.core.care.windows import after, number_of, postponed, window_due
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Band, Profile
from boxside.core.values.stages import Stage

_HOLDS = {
    "plump": ("hold.plump_days", "Plump"),
    "leftovers": ("hold.leftovers_days", "Leftovers seen"),
    "refused": ("hold.refused_days", "The meal was refused"),
}


def feed_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when the box is to be fed and why.

    None where nothing in it feeds (eggs, prepupae, pupae, adults) and during a winter rest.

    Notes
    -----
    The intervals are common practice without a published source; the keeper's profile takes over.
    """
    larvae = facts.lines_of(Stage.LARVA)
    if not larvae or facts.rest is not None:
        return None
    youngest = min(max(line.instar, 0) for line in larvae)
    due = _unhurried(facts, profile, profile.band_of(youngest))
    if youngest >= profile.mature_instar:
        due = _unpressed(due)
    for hold in (_satiety, _moult, _after_rest):
        due = hold(due, facts, profile)
    hunger = _hunger(facts)
    if hunger is not None:
        due = _hastened(due, hunger)
    return postponed(due, facts, hunger)


def _unhurried(facts: BoxFacts, profile: Profile, band: Band) -> Due:
    """Return the due day by interval alone: since the last meal, the hatch, or the box's first week."""
    meal = last_meal(facts)
    hatched = _unfed_hatch(facts, profile, meal)
    regular = _first_week(facts, profile, band) if meal is None else _regular(facts, profile, band, meal)
    if hatched is None:
        return regular
    first = _first_meal(facts, profile, hatched)
    is_others = meal is not None and _all_hatched_since(facts, meal.day)
    return first if meal is None or is_others or first.on < regular.on else regular


def _all_hatched_since(facts: BoxFacts, day: date) -> bool:
    """Return whether every larva in the box hatched after a day: a meal of that day was for others."""
    larvae = {line.cohort for line in facts.lines_of(Stage.LARVA)}
    hatched = {c.cohort: c.hatched_on for c in facts.cohorts}
    days = [hatched.get(cohort) for cohort in larvae]
    return all(one is not None and one > day for one in days)


def _regular(facts: BoxFacts, profile: Profile, band: Band, meal: Meal) -> Due:
    window = profile.window(band.window_key)
    fed = "Last fed about" if meal.about else "Last fed on"
    text = f"{fed} {day_text(meal.day)}; {band.label} eat about {every(window.on)}."
    reason = Reason(f"feeding.{band.name}", meal.seen.event, window.on, text)
    due = window_due(facts, "feed", meal.day, window, reason)
    return _cooler(due, facts, profile, window.on)


def _cooler(due: Due, facts: BoxFacts, profile: Profile, interval_days: int) -> Due:
    """Return the due day in a cool area: later by a share of the interval, never beyond the bound."""
    mean_c = facts.area_mean_c
    if mean_c is not None:
        pct = (profile.number("cool.reference_c") - mean_c) * profile.number("cool.pct_per_c")
    else:
        pct = profile.number("cool.pct") if facts.area_cool else 0.0
    pct = min(max(pct, 0.0), profile.number("cool.max_pct"))
    days = math.floor(interval_days * pct / 100)
    if days == 0:
        return due
    where = "The area is cool" if mean_c is None else f"The area is cool, {mean_c:.0f} °C on average"
    return _moved(due, days, Reason("cool", None, days, f"{where}, so {n_days(days)} later."))


def _first_week(facts: BoxFacts, profile: Profile, band: Band) -> Due:
    came = arrived_on(facts)
    said = facts.latest.get("last_fed")
    days = first_week_offset_days(facts, band, profile)
    text = f"Last meal not known, here since {day_text(came)}; first meals are spread over a week."
    return Due(
        box=facts.box,
        task="feed",
        earliest=came,
        on=after(came, days),
        latest=after(came, max(days, 6) + 1),
        reasons=(Reason("first_week", said.event if said else None, days, text),),
        urgency=urgency("feed", facts),
    )


def _unfed_hatch(facts: BoxFacts, profile: Profile, meal: Meal | None) -> date | None:
    """Return the day larvae hatched that had no meal since; None where they had one, or came here later."""
    said = facts.latest.get("last_fed")
    if meal is None and said is not None:
        return None
    small = {line.cohort for line in facts.lines_of(Stage.LARVA) if line.instar <= 1}
    days = [c.hatched_on for c in facts.cohorts if c.cohort in small and c.hatched_on is not None]
    latest = profile.window("first_meal").latest
    unfed = [day for day in days if meal is None or meal.day < day]
    return min((day for day in unfed if after(day, latest) >= arrived_on(facts)), default=None)


def _first_meal(facts: BoxFacts, profile: Profile, hatched_on: date) -> Due:
    window = profile.window("first_meal")
    seen = facts.latest.get("hatched")
    text = f"Hatched on {day_text(hatched_on)}; the first meal is due within {n_days(window.latest)}."
    return window_due(
        facts, "feed", hatched_on, window, Reason("first_meal", seen.event if seen else None, window.on, text)
    )


def _satiety(due: Due, facts: BoxFacts, profile: Profile) -> Due:
    sign = facts.latest.get("appetite")
    if sign is None or sign.fields.get("appetite") not in _HOLDS:
        return due
    key, said = _HOLDS[str(sign.fields["appetite"])]
    return _held(due, sign, profile.days(key), f"{said} on {day_text(sign.day)}", "satiety")


def _moult(due: Due, facts: BoxFacts, profile: Profile) -> Due:
    sign = facts.latest.get("in_moult")
    if sign is None:
        return due
    share_pct = min(max(number_of(sign, "share_pct", 100), 0), 100)
    hold = math.ceil(profile.number("hold.moult_days") * share_pct / 100)
    who = f"{share_pct} % in moult" if share_pct < 100 else "In moult"
    return _held(due, sign, hold, f"{who} on {day_text(sign.day)}", "in_moult")


def _after_rest(due: Due, facts: BoxFacts, profile: Profile) -> Due:
    ended = facts.latest.get("rest_ended")
    if ended is None:
        return due
    hold = profile.window("wake_meal").on
    return _held(due, ended, hold, f"Winter rest ended on {day_text(ended.day)}", "wake_meal")


def _held(due: Due, sign: Seen, hold_days: int, said: str, rule: str) -> Due:
    """Return the due day, no sooner than `hold_days` after the sign."""
    days = (after(sign.day, hold_days) - due.on).days
    if days <= 0:
        return due
    return _moved(due, days, Reason(rule, sign.event, days, f"{said}, so {n_days(days)} later."))


def _hunger(facts: BoxFacts) -> Seen | None:
    """Return the sign of hunger since the last meal, unless a moult or a winter rest came after it.

    A sign of the day of the meal is taken as seen before it: keepers note what made them feed.
    """
    sign = facts.latest.get("appetite")
    if sign is None or sign.fields.get("appetite") != "searching":
        return None
    meal, over = last_meal(facts), facts.latest_of("in_moult", "rest_ended")
    answered = meal is not None and meal.day >= sign.day
    return None if answered or (over is not None and over.at_ms > sign.at_ms) else sign


def _hastened(due: Due, sign: Seen) -> Due:
    days = min((sign.day - due.on).days, 0)
    sooner = f", so {n_days(-days)} sooner" if days else ""
    text = f"Searching along the edges on {day_text(sign.day)}{sooner}."
    return replace(_moved(due, days, Reason("searching", sign.event, days, text)), urgency=due.urgency + 10)


def _unpressed(due: Due) -> Due:
    """Return the task of larvae that are all grown: it becomes late only after twice the usual time."""
    text = "Grown larvae may stop eating before they pupate; offer food, do not press it."
    latest = after(due.latest, (due.latest - due.on).days)
    return replace(due, latest=latest, reasons=(*due.reasons, Reason("near_pupation", None, 0, text)))


def _moved(due: Due, days: int, reason: Reason) -> Due:
    return replace(
        due,
        earliest=after(due.earliest, days),
        on=after(due.on, days),
        latest=after(due.latest, days),
        reasons=(*due.reasons, reason),
    )
