"""A prey batch that several boxes refuse is to be checked: the fault may lie with the prey."""

from __future__ import annotations

from collections.abc import Iterable

from boxside.core.care.days import day_text
from boxside.core.care.tasks import urgency
from boxside.core.care.windows import after, postponed
from boxside.core.values.due import Due, Reason
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Profile


def prey_batch_dues(boxes: Iterable[BoxFacts], profile: Profile) -> tuple[Due, ...]:
    """Return one task for each prey batch that enough boxes refused, at the box that refused it last.

    Parameters
    ----------
    boxes : facts of all boxes, or of those at least whose latest appetite is `refused`

    Notes
    -----
    A refusal counts for the batch of the latest meal when it was seen on that meal's day or later. How many
    boxes are enough is common practice without a source (`prey_batch.n_boxes`). A box that is fed from
    another batch afterwards no longer counts, which is how the task ends.
    """
    refusals: dict[str, list[tuple[BoxFacts, Seen]]] = {}
    for facts in boxes:
        fed, sign = facts.latest.get("fed"), facts.latest.get("appetite")
        if fed is None or sign is None or sign.fields.get("appetite") != "refused" or sign.day < fed.day:
            continue
        batch = fed.fields.get("batch")
        if isinstance(batch, str) and batch:
            refusals.setdefault(batch, []).append((facts, sign))
    enough = profile.days("prey_batch.n_boxes")
    return tuple(_due(batch, found) for batch, found in sorted(refusals.items()) if len(found) >= enough)


def _due(batch: str, found: list[tuple[BoxFacts, Seen]]) -> Due:
    in_order = sorted(found, key=lambda one: (one[1].at_ms, one[1].event))
    facts, last = in_order[-1]
    whole = Reason("prey_batch", last.event, 0, f"{len(found)} boxes refused prey batch {batch}.")
    each = tuple(
        Reason("refused", sign.event, 0, f"{box.label} refused it on {day_text(sign.day)}.") for box, sign in in_order
    )
    due = Due(
        box=facts.box,
        task="check_prey_batch",
        earliest=last.day,
        on=last.day,
        latest=after(last.day, 2),
        reasons=(whole, *each),
        urgency=urgency("check_prey_batch", facts),
    )
    return postponed(due, facts, last)
