"""Moisture: moist but never wet. Dry is due at once, droplets are aired at once, else it is looked after."""

from __future__ import annotations

from datetime import date

from boxside.core.care.days import day_text, every
from boxside.core.care.tasks import urgency
from boxside.core.care.windows import after, is_open, postponed, same_day_due
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts
from boxside.core.values.profile import Profile

_CHECKED_BY = ("misted", "looked", "condensation", "substrate_renewed", "aired")
_WORDS = ("closed", "holes", "gauze", "paper")


def moisture_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when the box's moisture is to be looked after; None for a box without animals.

    Goes on through the winter rest. The interval follows the profile, the box's ventilation and its
    substrate, where the box's own description names them. A look with all well counts as a check.
    """
    if not facts.lines:
        return None
    dry = facts.latest.get("dried_out")
    if dry is not None and is_open(dry, facts.latest_of("misted", "substrate_renewed", "looked")):
        reason = Reason("dried_out", dry.event, 0, f"Found dry on {day_text(dry.day)}.")
        return postponed(same_day_due(facts, "moisture", dry.day, reason, more=2), facts, dry)
    return postponed(_interval(facts, profile), facts)


def _interval(facts: BoxFacts, profile: Profile) -> Due:
    window = profile.window("moisture" if facts.rest is None else "moisture_rest")
    share = _share(facts, profile)
    n = max(1, round(window.on * share))
    seen = facts.latest_of(*_CHECKED_BY)
    anchor: date = seen.day if seen and seen.day > facts.made_on else facts.made_on
    said = f"Moisture last seen to on {day_text(anchor)}; looked at {every(n)}"
    text = said + (" in the winter rest." if facts.rest else ".")
    return Due(
        box=facts.box,
        task="moisture",
        earliest=after(anchor, min(n, round(window.earliest * share))),
        on=after(anchor, n),
        latest=after(anchor, max(n, round(window.latest * share))),
        reasons=(Reason(window.key, seen.event if seen else None, n, text),),
        urgency=urgency("moisture", facts),
    )


def _share(facts: BoxFacts, profile: Profile) -> float:
    """Return by how much the box's lid and lining stretch the interval: their smallest share.

    Both are the keeper's own words; closed, holes, gauze and paper are understood in them.
    """
    words = ""
    for name in ("vents", "substrate"):
        told = [facts.latest[kind].fields.get(name) for kind in ("box_changed", "box_made") if kind in facts.latest]
        words += " " + str(next((one for one in told if one), "")).lower()
    shares = [profile.number(f"moisture.{word}_pct") for word in _WORDS if word in words]
    return min(shares, default=100.0) / 100


def air_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return that the box is to be aired at once, where droplets or puddles were seen since it last was."""
    wet = facts.latest.get("condensation")
    done = facts.latest_of("aired", "substrate_renewed", "dried_out", "looked")
    if wet is None or not facts.lines or not is_open(wet, done):
        return None
    puddles = wet.fields.get("level") == "puddles"
    text = f"{'Puddles' if puddles else 'Droplets'} seen on {day_text(wet.day)}; moist is right, wet is not."
    reason = Reason("condensation", wet.event, 0, text)
    return postponed(same_day_due(facts, "air", wet.day, reason, more=1 if puddles else 0), facts, wet)
