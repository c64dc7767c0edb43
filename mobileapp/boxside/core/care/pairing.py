"""Sexes apart before emergence, together when a female glows, apart again before long."""

from __future__ import annotations

from datetime import date

from boxside.core.care.days import day_text
from boxside.core.care.tasks import urgency
from boxside.core.care.watches import pupal_days
from boxside.core.care.windows import after, is_open, postponed, window_due
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Sex, Stage


def separate_sexes_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when pupae are to be parted by sex, or adults that share a box without being a pairing.

    None where only one sex is known to be there; pupae of unknown sex are due for sexing.
    """
    if _sexes(facts, Stage.ADULT) >= {Sex.FEMALE, Sex.MALE}:
        return _part_adults(facts, profile)
    sexes = _sexes(facts, Stage.PUPA)
    if not sexes or (len(sexes) == 1 and Sex.UNKNOWN not in sexes):
        return None
    seen = facts.latest.get("pupated")
    since = seen.day if seen else facts.made_on
    what = "not all sexed" if Sex.UNKNOWN in sexes else "of both sexes"
    text = f"Pupae since {day_text(since)}, {what}: part them before the males emerge."
    window = profile.window("separate_sexes")
    on = after(since, window.on)
    emerge = after(since, max(pupal_days(sexes, profile)[0] - 1, 0))
    latest = max(on, min(after(since, window.latest), emerge))
    reason = Reason("separate_sexes", seen.event if seen else None, window.on, text)
    due = Due(facts.box, "separate_sexes", since, on, latest, (reason,), urgency("separate_sexes", facts))
    return postponed(due, facts)


def _part_adults(facts: BoxFacts, profile: Profile) -> Due | None:
    """Adults that emerged together, without having been introduced on purpose, may be siblings."""
    emerged = facts.latest.get("emerged")
    if emerged is None or not is_open(emerged, facts.latest_of("introduced", "separated")):
        return None
    text = f"Males and females together since {day_text(emerged.day)}; part them unless they are to pair."
    window = profile.window("separate_sexes")
    due = Due(
        box=facts.box,
        task="separate_sexes",
        earliest=emerged.day,
        on=emerged.day,
        latest=after(emerged.day, min(window.latest, 1)),
        reasons=(Reason("emerged_together", emerged.event, 0, text),),
        urgency=urgency("separate_sexes", facts),
    )
    return postponed(due, facts, emerged)


def introduce_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when males are to be brought to females that glow.

    None once males are in the box, the females were paired, or they have laid: mated females stop glowing.
    """
    glowing = facts.latest.get("glowing")
    sexes = _sexes(facts, Stage.ADULT)
    females = Sex.FEMALE in sexes or (Sex.UNKNOWN in sexes and Sex.MALE not in sexes)
    if glowing is None or not females or Sex.MALE in sexes:
        return None
    if not is_open(glowing, facts.latest_of("introduced", "laid")):
        return None
    text = f"A female glowed on {day_text(glowing.day)}; waiting costs eggs."
    window = profile.window("introduce")
    reason = Reason("introduce", glowing.event, window.on, text)
    return postponed(window_due(facts, "introduce", glowing.day, window, reason), facts, glowing)


def end_pairing_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return when a pairing has lasted long enough: after its window, or once eggs were laid."""
    began = facts.latest.get("introduced")
    if began is None or not is_open(began, facts.latest.get("separated")):
        return None
    if not _sexes(facts, Stage.ADULT) >= {Sex.FEMALE, Sex.MALE}:
        return None
    window = profile.window("end_pairing")
    text = f"Together since {day_text(began.day)}; a pairing takes a few nights."
    reason = Reason("end_pairing", began.event, window.on, text)
    due = window_due(facts, "end_pairing", began.day, window, reason)
    laid = facts.latest.get("laid")
    if laid is not None and laid.at_ms >= began.at_ms and laid.day < due.on:
        due = _since_laid(due, laid, laid.day)
        return postponed(due, facts, laid)
    return postponed(due, facts)


def _since_laid(due: Due, laid: Seen, on: date) -> Due:
    reason = Reason("laid", laid.event, (on - due.on).days, f"Eggs laid on {day_text(laid.day)}.")
    latest = max(on, min(due.latest, after(on, 2)))
    return Due(due.box, due.task, min(due.earliest, on), on, latest, (*due.reasons, reason), due.urgency)


def _sexes(facts: BoxFacts, stage: Stage) -> set[Sex]:
    return {line.sex for line in facts.lines_of(stage)}
