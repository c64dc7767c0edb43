"""Eggs that were laid: a clutch is a cohort of its own, with all who may be its parents."""

from __future__ import annotations

from collections.abc import Sequence

from boxside.actions.add_box import cohort_names
from boxside.actions.groups import box_of_id, cohort_name
from boxside.actions.list_due import open_visit
from boxside.actions.log_event import log_all, saved
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.ledger import Line
from boxside.core.values.season import ClutchDraft, ClutchView, Flow, Parent
from boxside.core.values.stages import Sex, Stage
from boxside.store import reading


def clutch_view(services: Services, box_id: str) -> ClutchView:
    """Return what a clutch in a box starts with.

    Raises
    ------
    EntryError : if there is no such box
    """
    box = box_of_id(services, box_id)
    lines = reading.lines(services.store, [box_id])[box_id]
    eggs = dict.fromkeys(line.cohort for line, _ in lines if line.stage is Stage.EGG and line.cohort)
    return ClutchView(
        box_id=box_id,
        label=box.shown,
        next_name=next(cohort_names(services)),
        dams=parents_of(services, lines, Sex.FEMALE),
        sires=parents_of(services, lines, Sex.MALE),
        clutches=tuple((cohort, cohort_name(services, cohort)) for cohort in eggs),
        visit=open_visit(services, box_id)[0],
    )


def parents_of(services: Services, lines: Sequence[tuple[Line, int]], sex: Sex) -> tuple[Parent, ...]:
    """Return the adults of a box that may be parents of that sex; those not sexed may be either."""
    found: dict[str, int] = {}
    for line, n in lines:
        if line.stage is Stage.ADULT and line.cohort and line.sex in (sex, Sex.UNKNOWN):
            found[line.cohort] = found.get(line.cohort, 0) + n
    return tuple(Parent(cohort, n, cohort_name(services, cohort)) for cohort, n in found.items())


def lay_clutch(services: Services, draft: ClutchDraft, passed: tuple[str, ...] = ()) -> Flow:
    """Log eggs as a new clutch, or as a later batch of an earlier one.

    The possible dams and sires are kept with the clutch, each with how many there were, so that relatedness can
    be worked out from them; where there is only one dam cohort, the eggs are booked as laid by it. How many of them
    bred is kept only where it is said: the line counts one female to a clutch, and says that it does.

    Raises
    ------
    EntryError : if there is no such box or clutch, or no egg; nothing was saved
    """
    box_of_id(services, draft.box_id)
    if draft.n < 1:
        raise EntryError("A clutch needs at least one egg. Nothing was saved.")
    lines = reading.lines(services.store, [draft.box_id])[draft.box_id]
    dams = draft.dams or parents_of(services, lines, Sex.FEMALE)
    sires = draft.sires or parents_of(services, lines, Sex.MALE)
    visit = draft.visit or new_id(services, services.clock.now_ms() if draft.at_ms is None else draft.at_ms)
    drafts = []
    clutch = draft.clutch_id
    if not clutch:
        clutch = new_id(services, services.clock.now_ms())
        name = draft.name.strip() or next(cohort_names(services))
        fields = _start(services, draft, name, (("female", dams), ("male", sires)))
        drafts.append(Draft("cohort_started", "cohort", clutch, fields, at_ms=draft.at_ms, visit=visit))
    laid: dict[str, Json] = {
        "cohort": clutch, "n": draft.n, "quality": draft.quality, "low": draft.low, "high": draft.high,
        "mother": dams[0].cohort if len(dams) == 1 else None,
    }  # fmt: skip
    drafts.append(Draft("laid", "box", draft.box_id, laid, at_ms=draft.at_ms, visit=visit, note=draft.note or None))
    events = log_all(services, drafts)
    made = ((clutch, cohort_name(services, clutch)),) if not draft.clutch_id else ()
    return Flow(saved(services, events[-1], passed, was_due=False), tuple(e.id for e in events), made)


def _start(
    services: Services, draft: ClutchDraft, name: str, parents: Sequence[tuple[str, Sequence[Parent]]]
) -> dict[str, Json]:
    """Return the fields of a clutch's start; its eggs come with the entry `laid`."""
    first = next((reading.entity(services.store, "cohort", dam.cohort) for dam in parents[0][1]), None)
    # Without a word on how many bred, numbers are chances: any one of them.
    listed: list[Json] = [
        {"cohort": parent.cohort, "sex": sex, "n": parent.n, **({} if draft.laid_by else {"weight": parent.n or 1})}
        for sex, some in parents
        for parent in some
    ]
    return {
        "name": name, "origin": "laid", "stage": "egg", "species": first.data.get("species") if first else None,
        "parents": listed or None, "laid_by": draft.laid_by or None, "n_dams": draft.n_dams, "n_sires": draft.n_sires,
        "males_per_clutch": draft.males_per_clutch,
    }  # fmt: skip
