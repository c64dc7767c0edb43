"""What must have happened unseen before an entry can be true: booked first, visibly, and only when asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.ledger import Fold, order_key, touched_boxes
from boxside.core.ledger.resolve import scope_of
from boxside.core.values.event import Draft, Event, Json
from boxside.core.values.ledger import Account, Line
from boxside.core.values.stages import Sex, Stage
from boxside.core.values.vocabulary import Kind, Move
from boxside.store import reading
from boxside.store.intervals import last_of_stage
from boxside.store.ledger import place_of, present_before

# A stage change that lacks animals: the change before it, and the stages whose animals may have made it unseen.
_BEFORE: Mapping[str, tuple[tuple[str, tuple[Stage, ...]], ...]] = {
    "emerged": (("pupated", (Stage.PREPUPA, Stage.LARVA)),),
    "pupated": (("hatched", (Stage.EGG,)),),
    "prepupa": (("hatched", (Stage.EGG,)),),
    "moulted": (("hatched", (Stage.EGG,)),),
}


SCOPE = ("cohort", "stage", "instar", "sex")


def balances_at(services: Services, event: Event, kind: Kind) -> dict[Line, int]:
    """Return the animals present in each box that an event touches, as they stood before it."""
    place = place_of(order_key(event, kind))
    lines: dict[Line, int] = {}
    for box in touched_boxes(event, kind):
        lines.update(present_before(services.store, box, place))
    return {line: n for line, n in lines.items() if n > 0}


def lacking(event: Event, kind: Kind, balances: Mapping[Line, int]) -> int:
    """Return how many more animals an event moves than were there."""
    postings = Fold.of(event, kind, balances).postings
    return -sum(p.delta for p in postings if p.account == Account.SURPLUS and p.delta < 0)


def correction_for(services: Services, event: Event) -> Draft | None:
    """Return what to book before an event so that it can be true; None where nothing is lacking.

    Animals of an earlier stage that are there are taken to have made the step before unseen; where there are
    none, the headcount was too low, and an incomplete count says so. Either is an entry like any other,
    a moment before the event, with a note that says why.
    """
    kind = services.catalog.vocabulary.get(event.kind)
    if kind is None or event.subject_type != "box" or not kind.moves:
        return None
    balances = balances_at(services, event, kind)
    missing = lacking(event, kind, balances)
    if missing == 0 or kind.overdraft != Account.SURPLUS:
        return None
    draft = _skipped_step(event, balances, missing) or _recount(services, event, kind, balances, missing)
    moment = event.visit_ms - 1
    note = f"Correction: {kind.said.lower()} was entered for more animals than were expected."
    return replace(draft, at_ms=moment, visit=new_id(services, moment), by=event.by, note=note)


def with_clutch(services: Services, draft: Draft) -> Draft:
    """Return the draft of a hatch or of unhatched eggs with the clutch it is about, where no egg is left.

    The estimate was too low then: the clutch is the one whose eggs were in the box last.
    """
    kind = services.catalog.vocabulary.get(draft.kind)
    if kind is None or kind.overdraft != Account.REVISED or draft.subject_type != "box" or draft.fields.get("cohort"):
        return draft
    if any(line.stage is Stage.EGG for line, _ in reading.lines(services.store, [draft.subject_id])[draft.subject_id]):
        return draft
    clutch = last_of_stage(services.store, draft.subject_id, str(Stage.EGG))
    return replace(draft, fields={**draft.fields, "cohort": clutch}) if clutch else draft


def _skipped_step(event: Event, balances: Mapping[Line, int], missing: int) -> Draft | None:
    """Return the stage change that nobody logged, for as many animals as could have made it."""
    cohort = event.fields.get("cohort")
    here = {
        line: n for line, n in balances.items() if line.box == event.subject_id and cohort in (None, "", line.cohort)
    }
    to_instar = event.fields.get("to_instar")
    if event.kind == "moulted" and isinstance(to_instar, int) and to_instar > 2:
        n = sum(n for line, n in here.items() if line.stage is Stage.LARVA and 0 < line.instar < to_instar - 1)
        if n:
            fields: dict[str, Json] = {"n": min(n, missing), "to_instar": to_instar - 1, "cohort": cohort}
            return Draft("moulted", "box", event.subject_id, fields)
    for name, stages in _BEFORE.get(event.kind, ()):
        n = sum(n for line, n in here.items() if line.stage in stages)
        if n:
            fields = {"n": min(n, missing), "cohort": cohort}
            if name == "pupated":
                fields["to_sex"] = event.fields.get("to_sex") or event.fields.get("sex")
                fields["to_sex"] = fields["to_sex"] if fields["to_sex"] in (Sex.FEMALE, Sex.MALE) else None
            return Draft(name, "box", event.subject_id, fields)
    return None


def _recount(services: Services, event: Event, kind: Kind, balances: Mapping[Line, int], missing: int) -> Draft:
    """Return the count that says more animals were there than expected."""
    move, fields = _short_move(event, kind, balances)
    scope_there = scope_of(move.source, event, kind, fields)
    fitting = {line: n for group in scope_there.groups(balances) for line, n in group.items()}
    line = max(fitting, key=lambda found: (fitting[found], found), default=scope_there.template(balances))
    before = place_of(replace(order_key(event, kind), visit_ms=event.visit_ms - 1))
    scope: dict[str, Json] = {"cohort": line.cohort or None, "stage": str(line.stage)}
    if line.instar:
        scope["instar"] = line.instar
    if line.sex is not Sex.UNKNOWN:
        scope["sex"] = str(line.sex)
    there = present_before(services.store, line.box, before)
    n = sum(n for found, n in there.items() if n > 0 and in_scope(found, scope))
    return Draft("count", "box", line.box, {**scope, "n": n + missing, "complete": False, "method": "estimate"})


def in_scope(line: Line, fields: Mapping[str, Json]) -> bool:
    """Return whether a count with these fields means a line."""
    return all(fields.get(name) in (None, "", getattr(line, name)) for name in SCOPE)


def _short_move(event: Event, kind: Kind, balances: Mapping[Line, int]) -> tuple[Move, Mapping[str, Json]]:
    """Return the shift of an event that lacks animals, with the fields that it reads."""
    fold = Fold(event, kind, dict(balances), event.fields)
    for move in kind.moves:
        for part in fold.parts(move):
            fold.flags.clear()
            fold.move(move, part)
            if "surplus" in fold.flags:
                return move, part
    return kind.moves[0], event.fields
