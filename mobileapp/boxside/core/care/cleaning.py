"""Cleaning and fresh substrate, by interval and by what was seen; the old box after a transfer."""

from __future__ import annotations

from boxside.core.care.days import day_text, every
from boxside.core.care.windows import is_open, postponed, same_day_due, window_due
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Stage

_PESTS = {"mould": "Mould", "mites": "Mites", "flies": "Flies"}
_NEEDS_RENEWAL = ("mites", "flies")
_FRESH = ("substrate_renewed", "confirmed_empty")  # an emptied box starts fresh when it is filled again


def clean_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when the box is to be cleaned.

    At once where mould was seen, else by interval; only boxes with feeding larvae are cleaned by interval:
    eggs and pupae are left in peace, and nothing gets dirty in the winter rest.
    """
    pest = _open_pest(facts)
    if pest is not None and pest.fields.get("what") not in _NEEDS_RENEWAL:
        return postponed(_pest(facts, pest, "clean"), facts, pest)
    return _by_interval(facts, profile, "clean", "Cleaned", ("cleaned", *_FRESH))


def renew_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when the substrate is to be renewed: at once for mites and flies, else by interval."""
    pest = _open_pest(facts)
    if pest is not None and pest.fields.get("what") in _NEEDS_RENEWAL:
        return postponed(_pest(facts, pest, "renew"), facts, pest)
    return _by_interval(facts, profile, "renew", "Substrate renewed", _FRESH)


def check_old_box_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when a box that was emptied by a transfer is searched again for those left behind.

    Small larvae hide in the substrate; the box is done once it is confirmed empty. That is so as well where
    some are still expected, if all of them were meant to go (`empties`).
    """
    moved = facts.latest.get("transfer")
    if moved is None or moved.fields.get("to_box") == facts.box:
        return None
    if facts.lines and moved.fields.get("empties") is not True:
        return None
    if not is_open(moved, facts.latest.get("confirmed_empty")):
        return None
    window = profile.window("check_old_box")
    text = f"Emptied on {day_text(moved.day)}; small larvae may still hide in the substrate."
    reason = Reason("check_old_box", moved.event, window.on, text)
    return postponed(window_due(facts, "check_old_box", moved.day, window, reason), facts)


def _open_pest(facts: BoxFacts) -> Seen | None:
    pest = facts.latest.get("pest_seen")
    if not is_open(pest, facts.latest_of("cleaned", "substrate_renewed")):
        return None
    return pest if facts.lines else None


def _pest(facts: BoxFacts, pest: Seen, task: str) -> Due:
    what = _PESTS.get(str(pest.fields.get("what")), "A pest")
    reason = Reason("pest", pest.event, 0, f"{what} seen on {day_text(pest.day)}.")
    return same_day_due(facts, task, pest.day, reason, more=2)


def _by_interval(facts: BoxFacts, profile: Profile, task: str, done: str, closed_by: tuple[str, ...]) -> Due | None:
    if facts.n_of(Stage.LARVA) == 0 or facts.rest is not None:
        return None
    seen, window = facts.latest_of(*closed_by), profile.window(task)
    known = seen is not None and seen.day >= facts.made_on
    anchor = seen.day if seen is not None and known else facts.made_on
    said = done if known else "Box made"
    text = f"{said} on {day_text(anchor)}; due {every(window.on)}."
    reason = Reason(task, seen.event if seen is not None and known else None, window.on, text)
    return postponed(window_due(facts, task, anchor, window, reason), facts)
