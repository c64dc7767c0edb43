"""Founders, and animals from other keepers: when, how many, by which permit, related to whom."""

from __future__ import annotations

from boxside.actions.context import setting, today, zone_of
from boxside.actions.entry import box_named, named_entity
from boxside.actions.labels import check_label
from boxside.actions.log_event import log_all, saved
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.line_view import Founding
from boxside.core.values.moments import local_ms
from boxside.core.values.views import Saved
from boxside.store import reading

_NOON = 12 * 60
CAUTION = "Take animals from the wild only where it is allowed, and keep the permit's number with them."


def add_founders(services: Services, new: Founding) -> Saved:
    """Start a cohort of founders, or of received animals, and put it in a box.

    Raises
    ------
    EntryError : without a name or a number, for a name in use, a box, relation or cohort that is not known, or a day
        in the future; nothing was saved
    """
    if not new.name.strip():
        raise EntryError("Founders need a name. Nothing was saved.")
    if any(cohort.label == new.name for cohort in reading.entities(services.store, "cohort")):
        raise EntryError(f"There is already a cohort {new.name}. Nothing was saved. Choose another name.")
    if new.n < 1:
        raise EntryError(f"{new.n} founders cannot be added. Nothing was saved. Enter one or more.")
    if new.on is not None and new.on > today(services):
        raise EntryError(f"{new.on} lies in the future. Nothing was saved. Log it when it has happened.")
    now_ms = services.clock.now_ms()
    at_ms = None if new.on in (None, today(services)) else local_ms(new.on, _NOON, zone_of(services))
    visit, cohort = new_id(services, now_ms if at_ms is None else at_ms), new_id(services, now_ms)
    box = _fresh(services, new, now_ms) if new.fresh else box_named(services, new.box).id
    stocked: dict[str, Json] = {
        "cohort": cohort, "n": new.n, "stage": new.stage, "instar": new.instar, "sex": new.sex or None,
        "origin": "received" if new.origin == "received" else "founders", "quality": "counted",
    }  # fmt: skip
    started = Draft("cohort_started", "cohort", cohort, _started(services, new), at_ms, visit, note=new.note or None)
    made = [Draft("box_made", "box", box, {"label": new.box.strip()}, at_ms, visit)] if new.fresh else []
    events = log_all(services, [*made, started, Draft("stocked", "box", box, stocked, at_ms, visit)])
    return saved(services, events[-1], (), was_due=False, act=events)


def _fresh(services: Services, new: Founding, now_ms: int) -> str:
    check_label(services, new.box)
    return new_id(services, now_ms)


def _started(services: Services, new: Founding) -> dict[str, Json]:
    related: list[Json] = [
        {"cohort": named_entity(services, "cohort", name), "kinship": kinship} for name, kinship in new.related
    ]
    taken: list[Json] = []
    if new.taken_from:
        taken.append({"cohort": named_entity(services, "cohort", new.taken_from), "n": new.n})
    return {
        "name": new.name.strip(),
        "origin": "received" if new.taken_from else new.origin,
        "species": setting(services, "species"),
        "stage": new.stage,
        "place": new.place or None,
        "permit": new.permit or None,
        "within": new.within or None,
        "related": related or None,
        "parents": taken or None,
    }
