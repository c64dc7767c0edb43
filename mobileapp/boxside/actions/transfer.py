"""A transfer in one flow: from the old box to one or several others, all or none of it saved."""

from __future__ import annotations

from collections.abc import Sequence

from boxside.actions.add_box import next_label
from boxside.actions.context import profile
from boxside.actions.entry import box_label
from boxside.actions.fresh_box import fresh_box
from boxside.actions.groups import box_of_id, groups_of, stages_of, targets_of, vents_of
from boxside.actions.list_due import open_visit
from boxside.actions.log_event import log_all, saved
from boxside.actions.loss_note import census_kinds
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.actions.wording import is_about, stage_words, who_text
from boxside.core.ledger.judge import look_where
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Event, Json
from boxside.core.values.ledger import Line
from boxside.core.values.season import Flow, TransferDone, TransferDraft, TransferPart, TransferView
from boxside.core.values.views import Notice
from boxside.store import reading
from boxside.store.intervals import arrived, booked_by

SIZES = (("small", "Small"), ("middle", "Middle"), ("large", "Large"))
STEPS = (
    "Take a fresh box, or one that is in use: lined, moist, with its code on the lid.",
    "Move the animals and count them as they go over.",
    "Search the old lining: larvae hide in folds, in moss and in empty shells.",
    "Keep the old box closed for some days, look again, then confirm that it is empty.",
)


def transfer_view(services: Services, box_id: str) -> TransferView:
    """Return what a transfer out of a box starts with.

    Raises
    ------
    EntryError : if there is no such box
    """
    box = box_of_id(services, box_id)
    lines = reading.lines(services.store, [box_id])[box_id]
    who = who_text(lines, is_about(services, box_id))
    return TransferView(
        box_id=box_id,
        label=box.shown,
        who=who[:1].upper() + who[1:],
        expected=sum(n for _, n in lines),
        about=is_about(services, box_id),
        groups=groups_of(services, lines),
        targets=targets_of(services, box_id),
        next_label=next_label(services),
        sizes=SIZES,
        steps=STEPS,
        checks=look_where(stages_of(lines), vents_of(box), box.shown),
        cautions=tuple(c.text for c in profile(services).cautions if c.where == "handle"),
        visit=open_visit(services, box_id)[0],
    )


def transfer(services: Services, draft: TransferDraft, passed: tuple[str, ...] = ()) -> TransferDone:
    """Save a transfer: fresh boxes where new codes are given, then each part as one move.

    More animals than were expected are booked first, visibly, as a count of the old box; fewer stay expected
    in the old box, which is to be checked until it is confirmed empty.

    Raises
    ------
    EntryError : if there is nothing to move, a box is not known, a code is in use, or a part has no animals;
        nothing was saved
    """
    box = box_of_id(services, draft.box_id)
    if not draft.parts:
        raise EntryError("Say which box the animals go to. Nothing was saved.")
    visit = _visit(services, draft)
    before: list[Draft] = []
    homes: dict[str, str] = {}
    for part in draft.parts:
        label = part.to_label.strip()
        if label and label.upper() not in homes:
            made = fresh_box(services, box, label, visit, draft.at_ms)
            homes[label.upper()] = next(d.subject_id for d in made if d.kind == "box_made")
            before += made
    moves = [_move(services, draft, part, homes, visit) for part in draft.parts]
    if not any(n for _, n in reading.lines(services.store, [box.id])[box.id]) and all(p.n is None for p in draft.parts):
        raise EntryError(f"No animals are expected in {box.shown}. Nothing was saved. Say how many were found.")
    events = log_all(services, [*before, *moves], as_correction=True)
    return _done(services, draft, events, passed)


def _visit(services: Services, draft: TransferDraft) -> str:
    """Return the visit that the transfer belongs to: a new one after a count, which says what was there before.

    Within a visit a count stands after all moves: animals that leave after it would come back by it.
    """
    counts = census_kinds(services)
    entries = reading.history(services.store, "box", draft.box_id, 30)
    counted = any(e.kind in counts and e.visit == draft.visit and struck is None for e, struck in entries)
    if draft.visit and not counted:
        return draft.visit
    return new_id(services, services.clock.now_ms() if draft.at_ms is None else draft.at_ms)


def _move(services: Services, draft: TransferDraft, part: TransferPart, homes: dict[str, str], visit: str) -> Draft:
    """Return the move of one part."""
    label = part.to_label.strip()
    target = homes[label.upper()] if label else part.to_box
    if not target or target == draft.box_id:
        raise EntryError("The animals need another box to go to, or a fresh one. Nothing was saved.")
    if not label and reading.entity(services.store, "box", target) is None:
        raise EntryError("There is no such box to move to. Nothing was saved.")
    if part.n is not None and part.n < 1:
        raise EntryError("A part of a transfer needs at least one animal. Nothing was saved.")
    fields: dict[str, Json] = {
        "to_box": target, "n": part.n, "counted": draft.counted, "empties": draft.empties or None,
        "size": part.size or None, "photo": draft.photo or None, "cohort": part.cohort or None,
        "stage": part.stage or None, "instar": part.instar or None, "sex": part.sex or None,
    }  # fmt: skip
    return Draft("transfer", "box", draft.box_id, fields, at_ms=draft.at_ms, visit=visit, note=draft.note or None)


def _done(services: Services, draft: TransferDraft, events: Sequence[Event], passed: tuple[str, ...]) -> TransferDone:
    """Return what a transfer came to, in words."""
    moves = [event for event in events if event.kind == "transfer" and event.subject_id == draft.box_id]
    made = tuple((e.subject_id, box_label(services, e.subject_id)) for e in events if e.kind == "box_made")
    left = reading.lines(services.store, [draft.box_id])[draft.box_id]
    n_moved = sum(arrived(services.store, e.id, str(e.fields["to_box"])) for e in moves)
    n_left = sum(n for _, n in left)
    old = box_label(services, draft.box_id)
    to = ", ".join(dict.fromkeys(box_label(services, str(e.fields["to_box"])) for e in moves))
    extra = sum(-n for n in booked_by(services.store, [e.id for e in events], "unaccounted").values())
    sentence = f"{n_moved} moved to {to}."
    if extra > 0:
        sentence += f" That is {extra} more than were expected: they are booked as found."
    checks = look_where(stages_of(left), vents_of(box_of_id(services, draft.box_id)), old)
    if draft.empties:
        sentence += f" {_old_box(old, left, n_left)}"
    flow = Flow(
        saved=saved(services, moves[-1], passed, was_due=False),
        events=tuple(event.id for event in events),
        made=made,
        notice=Notice(sentence),
    )
    return TransferDone(flow, sentence, n_moved, n_left, checks if draft.empties else (), old)


def _old_box(old: str, left: Sequence[tuple[Line, int]], n_left: int) -> str:
    if n_left == 0:
        return f"{old} stays to be checked until it is confirmed empty."
    stages = stages_of(left)
    what = stage_words(stages[0], n_left) if len(stages) == 1 else f"{n_left} animals"
    return f"{what} of {old} were not among them: search the old lining before you confirm that it is empty."
