"""Animals that go on to the next stage: all of a group or some, with sex where it was seen."""

from __future__ import annotations

from boxside.actions.context import profile
from boxside.actions.groups import box_of_id, groups_of
from boxside.actions.list_due import open_visit
from boxside.actions.log_event import log_all, saved
from boxside.actions.services import Services
from boxside.actions.wording import is_about, who_text
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.season import Flow, StageDraft, StageOffer, StageView
from boxside.core.values.stages import Stage
from boxside.core.values.views import Notice
from boxside.store import reading

_KINDS = {Stage.LARVA: "hatched", Stage.PREPUPA: "prepupa", Stage.PUPA: "pupated", Stage.ADULT: "emerged"}
_FROM = {
    Stage.LARVA: (Stage.EGG,),
    Stage.PREPUPA: (Stage.LARVA,),
    Stage.PUPA: (Stage.PREPUPA, Stage.LARVA),
    Stage.ADULT: (Stage.PUPA,),
}
_LABELS = {Stage.LARVA: "Hatched", Stage.PREPUPA: "Prepupae", Stage.PUPA: "Pupated", Stage.ADULT: "Emerged"}


def stage_view(services: Services, box_id: str) -> StageView:
    """Return the groups of a box and the stages they can go on to.

    Raises
    ------
    EntryError : if there is no such box
    """
    box = box_of_id(services, box_id)
    lines = reading.lines(services.store, [box_id])[box_id]
    who = who_text(lines, is_about(services, box_id))
    offers = [_moult(services, box_id)] if any(line.stage is Stage.LARVA for line, _ in lines) else []
    for to, sources in _FROM.items():
        most = sum(n for line, n in lines if line.stage in sources)
        if most:
            offers.append(StageOffer(str(to), _LABELS[to], most, has_sex=to in (Stage.PUPA, Stage.ADULT)))
    cause = services.catalog.vocabulary.kinds["died"].field("cause")
    return StageView(
        box_id=box_id,
        label=box.shown,
        who=who[:1].upper() + who[1:],
        groups=groups_of(services, lines),
        offers=tuple(offers),
        causes=tuple((name, name.replace("_", " ").capitalize()) for name in (cause.choices if cause else ())),
        visit=open_visit(services, box_id)[0],
    )


def _moult(services: Services, box_id: str) -> StageOffer:
    """Return the offer of a moult to the instar after the one that most larvae of the box are in."""
    lines = [(line, n) for line, n in reading.lines(services.store, [box_id])[box_id] if line.stage is Stage.LARVA]
    line, _ = max(lines, key=lambda item: (item[1], item[0]))
    own = profile(services)
    last = max(own.days("instars.female"), own.days("instars.male"))
    to = min(last, line.instar + 1) if line.instar else 2
    return StageOffer(str(Stage.LARVA), "Moulted", sum(n for _, n in lines), instar=to)


def change_stage(services: Services, draft: StageDraft, passed: tuple[str, ...] = ()) -> Flow:
    """Log that animals went on to a stage.

    More hatchlings than eggs were estimated revise the estimate. Anything else that cannot be is refused with
    the reason, or accepted with `as_correction`: then what must have happened unseen is booked before it.

    Raises
    ------
    EntryError : if there is no such stage to go to, or the animals for it are not there; nothing was saved
    """
    box_of_id(services, draft.box_id)
    if draft.to not in _KINDS:
        raise EntryError(f"{draft.to!r} is no stage to go on to. Nothing was saved.")
    to = Stage(draft.to)
    kind = "moulted" if to is Stage.LARVA and draft.instar > 1 else _KINDS[to]
    n = draft.n
    if n is None and kind != "moulted":
        lines = reading.lines(services.store, [draft.box_id])[draft.box_id]
        n = sum(
            k for line, k in lines if line.stage in _FROM[to] and draft.cohort in ("", line.cohort)
        )  # fmt: skip
        if not n:
            raise EntryError(f"Nothing in this box can be {_LABELS[to].lower()}. Nothing was saved.")
    fields: dict[str, Json] = {"n": n, "cohort": draft.cohort or None}
    if kind in ("pupated", "emerged"):
        fields["to_sex"] = draft.sex or None
    if kind == "moulted":
        fields["to_instar"] = draft.instar
    made = Draft(
        kind, "box", draft.box_id, fields, at_ms=draft.at_ms, visit=draft.visit or None, note=draft.note or None
    )
    events = log_all(services, [made], draft.as_correction)
    booked = len(events) - 1
    notice = Notice(f"{booked} correction{'s' if booked > 1 else ''} booked before it.") if booked else None
    done = saved(services, events[-1], passed, was_due=False)
    return Flow(done, tuple(event.id for event in events), notice=notice)
