"""One animal with a mark: from then on a cohort of one, drawn from the one it came from."""

from __future__ import annotations

from boxside.actions.groups import box_of_id, cohort_name
from boxside.actions.log_event import log_all, saved
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.season import Flow, MarkDraft
from boxside.store import reading


def mark_individual(services: Services, draft: MarkDraft, passed: tuple[str, ...] = ()) -> Flow:
    """Mark one animal of a box.

    Raises
    ------
    EntryError : if there is no mark, no such animal, or the animals it may be are of several cohorts;
        nothing was saved
    """
    box_id, mark, cohort, stage, sex = draft.box_id, draft.mark, draft.cohort, draft.stage, draft.sex
    box = box_of_id(services, box_id)
    if not mark.strip():
        raise EntryError("A marked animal needs its mark in words. Nothing was saved.")
    lines = [
        line
        for line, _ in reading.lines(services.store, [box_id])[box_id]
        if cohort in ("", line.cohort) and stage in ("", line.stage) and sex in ("", line.sex)
    ]
    cohorts = {line.cohort for line in lines}
    if len(cohorts) != 1:
        why = "no such animal is expected there" if not lines else "say which cohort it is of"
        raise EntryError(f"{box.shown}: {why}. Nothing was saved.")
    origin = reading.entity(services.store, "cohort", next(iter(cohorts)))
    now_ms = services.clock.now_ms()
    visit = draft.visit or new_id(services, now_ms)
    individual = new_id(services, now_ms)
    started: dict[str, Json] = {
        "name": f"{origin.label} {mark.strip()}" if origin else mark.strip(), "origin": "individual",
        "mark": mark.strip(), "species": origin.data.get("species") if origin else None,
        "stage": str(lines[0].stage),
        "parents": [{"cohort": origin.id, "n": 1, "weight": 1}] if origin else None,
    }  # fmt: skip
    marked: dict[str, Json] = {
        "individual": individual, "mark": mark.strip(), "cohort": cohort or None, "stage": stage or None,
        "sex": sex or None,
    }  # fmt: skip
    drafts = [
        Draft("cohort_started", "cohort", individual, started, visit=visit),
        Draft("marked", "box", box_id, marked, visit=visit),
    ]
    events = log_all(services, drafts)
    done = saved(services, events[-1], passed, was_due=False)
    return Flow(done, tuple(e.id for e in events), ((individual, cohort_name(services, individual)),))
