"""All that is due at a box, and the order in which a keeper takes it up."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from boxside.core.care.cleaning import check_old_box_due, clean_due, renew_due
from boxside.core.care.feeding import feed_due
from boxside.core.care.losses import look_for_escape_due
from boxside.core.care.meal_out import meal_out_due
from boxside.core.care.moisture import air_due, moisture_due
from boxside.core.care.pairing import end_pairing_due, introduce_due, separate_sexes_due
from boxside.core.care.relabel import relabel_due
from boxside.core.care.rest import quarantine_end_due, wake_due
from boxside.core.care.watches import watch_emergence_due, watch_hatch_due, watch_pupation_due
from boxside.core.values.due import Due
from boxside.core.values.facts import BoxFacts
from boxside.core.values.profile import Profile

RULES: tuple[Callable[[BoxFacts, Profile], Due | None], ...] = (
    feed_due,
    meal_out_due,
    moisture_due,
    air_due,
    clean_due,
    renew_due,
    check_old_box_due,
    watch_hatch_due,
    watch_pupation_due,
    watch_emergence_due,
    separate_sexes_due,
    introduce_due,
    end_pairing_due,
    wake_due,
    quarantine_end_due,
    look_for_escape_due,
    relabel_due,
)


def dues(facts: BoxFacts, profile: Profile) -> tuple[Due, ...]:
    """Return every task of one box with its days and reasons, soonest first.

    Follows from the facts and the profile alone, never from today's date: the answer holds until the next
    event at the box, so it can be kept.
    """
    found = [due for rule in RULES if (due := rule(facts, profile)) is not None]
    return tuple(sorted(found, key=lambda due: (due.on, -due.urgency, due.task)))


def pressing(due: Due, day: date) -> tuple[bool, int, date, str, str]:
    """Return the key that puts the most pressing first: late, urgent (young cohorts first), longest due."""
    return (due.latest >= day, -due.urgency, due.on, due.box, due.task)


def rank(found: Iterable[Due], day: date) -> tuple[Due, ...]:
    """Return tasks in the order in which they are best taken up on a day."""
    return tuple(sorted(found, key=lambda due: pressing(due, day)))


def due_by(found: Iterable[Due], day: date) -> tuple[Due, ...]:
    """Return the tasks that are due on or before a day, most pressing first."""
    return rank((due for due in found if due.on <= day), day)


def next_on(found: Iterable[Due], day: date) -> date | None:
    """Return the next day after `day` on which something falls due; None where nothing will."""
    return min((due.on for due in found if due.on > day), default=None)
