"""Which act has which flow, and which acts only a flow can log."""

from __future__ import annotations

from collections.abc import Sequence

from boxside.core.values.season import Group
from boxside.core.values.views import Act
from boxside.ui.words import say

BY_KIND = {
    "blended": "blend", "confirmed_empty": "confirm", "count": "count", "emerged": "change", "hatched": "change",
    "laid": "lay", "marked": "mark", "moulted": "change", "prepupa": "change", "pupated": "change",
    "transfer": "move",
}  # fmt: skip
ADULT, EGG = "adult", "egg"


def flow_of(act: Act) -> str:
    """Return the name of the flow that logs an act; empty where its fields are simply asked for."""
    return BY_KIND.get(act.kind or act.command, "")


def flow_acts(groups: Sequence[Group]) -> tuple[Act, ...]:
    """Return the acts that only a flow can log, as they fit those who live in a box."""
    stages = {group.stage for group in groups}
    acts = []
    if groups:
        acts += [Act(say("transfer"), "transfer", kind="transfer"), Act(say("mark_one"), "mark", kind="marked")]
    if stages & {ADULT, EGG}:
        acts.append(Act(say("laid"), "egg", kind="laid"))
    if len({group.cohort for group in groups}) > 1:
        acts.append(Act(say("blend"), "blend", kind="blended"))
    return tuple(acts)


__all__ = ["BY_KIND", "flow_acts", "flow_of"]
