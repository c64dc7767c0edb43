"""A box whose code another open box carries too, as a merge can bring, is to be given one of its own."""

from __future__ import annotations

from boxside.core.care.tasks import urgency
from boxside.core.care.windows import after, postponed
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts
from boxside.core.values.profile import Profile


def relabel_due(facts: BoxFacts, profile: Profile) -> Due | None:
    """Return that a box needs a code of its own; None where its code is its own."""
    if not facts.shares_code:
        return None
    day = facts.made_on
    reason = Reason("relabel", None, 0, f"Another open box has the same code; this one shows as {facts.label}.")
    due = Due(facts.box, "relabel", day, day, after(day, 7), (reason,), urgency("relabel", facts))
    return postponed(due, facts)
