"""Losses that the stage's survival does not explain: look for escapes."""

from __future__ import annotations

from boxside.core.care.windows import is_open, postponed, window_due
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts
from boxside.core.values.profile import Profile


def look_for_escape_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return that the gauze and the shelf are to be searched after a count that left too many unaccounted.

    Whether a loss is more than survival explains is judged elsewhere and comes in as `loss_note`; the task
    is done once the box was looked over, or animals were found or given up as escaped, after the count.
    """
    if not facts.loss_note:
        return None
    count = facts.latest.get("count")
    if count is not None and not is_open(count, facts.latest_of("looked", "found_again", "escaped")):
        return None
    anchor = count.day if count else facts.made_on
    window = profile.window("look_for_escape")
    text = f"{facts.loss_note.rstrip('. ')}; look for escapes and check the gauze."
    reason = Reason("loss", count.event if count else None, window.on, text)
    return postponed(window_due(facts, "look_for_escape", anchor, window, reason), facts, count)
