"""Watches: clutches near hatch, grown larvae near pupation, pupae near emergence.

A watch is a span of days in which the box is looked at again and again: a look puts the next one off by the
watch's own interval, and once the usual time is over it comes more rarely instead of every day for ever.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from boxside.core.care.days import MONTHS, day_text
from boxside.core.care.tasks import urgency
from boxside.core.care.windows import after, number_of, postponed
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Sex, Stage

_LOOKS = ("looked", "seen", "count")


@dataclass(frozen=True, slots=True)
class _Watch:
    """A span of days to watch in, what counts as a look, how often, and why."""

    task: str
    start: date
    end: date
    looks: tuple[str, ...]
    every_days: int
    reason: Reason


def watch_hatch_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when a clutch is to be looked at for hatching; None where no eggs are in the box.

    Hatchlings leave through small holes on their first day, so the watch begins before the first of them
    is expected.
    """
    cohorts = {line.cohort for line in facts.lines_of(Stage.EGG)}
    if not cohorts:
        return None
    seen = facts.latest.get("laid")
    days = [c.laid_on for c in facts.cohorts if c.cohort in cohorts and c.laid_on is not None]
    laid_on = min(days, default=seen.day if seen else facts.made_on)
    low, high = profile.duration_days(Stage.EGG)
    lead = profile.days("watch.hatch_lead_days")
    text = f"Eggs since {day_text(laid_on)}, usually hatching after {low} to {high} days; the small escape."
    watch = _Watch(
        task="watch_hatch",
        start=after(laid_on, max(low - lead, 0)),
        end=after(laid_on, high),
        looks=(*_LOOKS, "hatched"),
        every_days=profile.days("watch.hatch_every_days"),
        reason=Reason("watch_hatch", seen.event if seen else None, max(low - lead, 0), text),
    )
    return postponed(_due(facts, profile, watch), facts)


def watch_pupation_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when grown larvae and prepupae are to be looked at for pupation; never in the winter rest.

    Grown is an instar from which either sex may pupate or, where the instar is not known, an age from the
    shortest usual larval life on.
    """
    if facts.rest is not None:
        return None
    prepupae = _prepupae(facts, profile)
    start, seen, text = prepupae or _grown(facts, profile) or (None, None, "")
    if start is None:
        return None
    ended = facts.latest.get("rest_ended")
    start = max(start, ended.day) if ended else start
    watch = _Watch(
        task="watch_pupation",
        start=start,
        end=after(start, 120),
        looks=(*_LOOKS, "prepupa", "pupated"),
        every_days=profile.days("watch.pupation_every_days"),
        reason=Reason("watch_pupation", seen.event if seen else None, 0, text),
    )
    due = _due(facts, profile, watch)
    return postponed(due if prepupae else _in_season(due, profile), facts)


def _in_season(due: Due, profile: Profile) -> Due:
    """Return the watch moved to the months in which the species pupates, where it falls outside them."""
    first, last = profile.days("watch.pupation_from_month"), profile.days("watch.pupation_to_month")
    months = range(first, last + 1) if first <= last else (*range(first, 13), *range(1, last + 1))
    if due.on.month in months:
        return due
    year = due.on.year + (due.on.month > first)
    on = date(year, first, 1) if year <= date.max.year else date.max
    moved = (on - due.on).days
    text = f"Pupation is looked for from {MONTHS[first - 1]} on."
    latest = max(due.latest, after(on, profile.days("watch.pupation_every_days")))
    reasons = (*due.reasons, Reason("pupation_season", None, moved, text))
    return replace(due, earliest=max(due.earliest, on), on=on, latest=latest, reasons=reasons)


def _prepupae(facts: BoxFacts, profile: Profile) -> tuple[date, Seen | None, str] | None:
    lines = facts.lines_of(Stage.PREPUPA)
    if not lines:
        return None
    seen = facts.latest.get("prepupa")
    since = seen.day if seen else facts.made_on
    low = min(profile.duration_days(Stage.PREPUPA, line.sex)[0] for line in lines)
    return after(since, low), seen, f"Prepupae since {day_text(since)}; leave them in peace and shelter."


def _grown(facts: BoxFacts, profile: Profile) -> tuple[date, Seen | None, str] | None:
    lines = facts.lines_of(Stage.LARVA)
    said = "near pupation they stop eating, so give shelter."
    if any(line.instar >= profile.mature_instar for line in lines):
        moulted = facts.latest.get("moulted")
        if moulted is not None and number_of(moulted, "to_instar", 0) >= profile.mature_instar:
            start = after(moulted.day, profile.days("watch.pupation_lead_days"))
            return start, moulted, f"Grown larvae since {day_text(moulted.day)}; {said}"
        return facts.made_on, None, f"Grown larvae in this box; {said}"
    unknown = {line.cohort for line in lines if line.instar == 0}
    hatched = min((c.hatched_on for c in facts.cohorts if c.cohort in unknown and c.hatched_on), default=None)
    if hatched is None:
        return None
    days = profile.duration_days(Stage.LARVA)[0] - profile.days("watch.pupation_lead_days")
    return (
        after(hatched, days),
        None,
        f"Hatched on {day_text(hatched, with_year=True)}, so by age perhaps grown; {said}",
    )


def watch_emergence_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when pupae are to be looked at for emergence; None where the box holds none.

    Adults live days to weeks, so a day lost counts.
    """
    sexes = {line.sex for line in facts.lines_of(Stage.PUPA)}
    if not sexes:
        return None
    seen = facts.latest.get("pupated")
    since = seen.day if seen else facts.made_on
    low, high = pupal_days(sexes, profile)
    lead = profile.days("watch.emergence_lead_days")
    text = f"Pupae since {day_text(since)}, usually emerging after {low} to {high} days; adults live briefly."
    watch = _Watch(
        task="watch_emergence",
        start=after(since, max(low - lead, 0)),
        end=after(since, high),
        looks=(*_LOOKS, "emerged"),
        every_days=profile.days("watch.emergence_every_days"),
        reason=Reason("watch_emergence", seen.event if seen else None, max(low - lead, 0), text),
    )
    return postponed(_due(facts, profile, watch), facts)


def pupal_days(sexes: Iterable[Sex], profile: Profile) -> tuple[int, int]:
    """Return the shortest and longest usual pupal life of any of the sexes, in days."""
    spans = [profile.duration_days(Stage.PUPA, sex) for sex in sexes]
    return min(low for low, _ in spans), max(high for _, high in spans)


def _due(facts: BoxFacts, profile: Profile, watch: _Watch) -> Due:
    look = facts.latest_of(*watch.looks)
    reasons: tuple[Reason, ...] = (watch.reason,)
    on = watch.start
    if look is not None:
        over = look.day > watch.end
        pause = profile.days("watch.after_every_days") if over else watch.every_days
        again = after(look.day, pause)
        if again > on:
            text = f"Last looked at on {day_text(look.day)}."
            reasons = (watch.reason, Reason("looked", look.event, (again - on).days, text))
            on = again
    latest = max(watch.end, after(on, watch.every_days)) if on == watch.start else after(on, watch.every_days)
    return Due(facts.box, watch.task, on, on, latest, reasons, urgency(watch.task, facts))
