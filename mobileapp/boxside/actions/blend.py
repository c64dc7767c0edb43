"""Cohorts of one box that can no longer be told apart: from then on one blend, with their shares."""

from __future__ import annotations

from collections.abc import Sequence

from boxside.actions.groups import box_of_id, cohort_name
from boxside.actions.log_event import log_all, saved
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.season import Flow
from boxside.store import reading


def blend(
    services: Services, box_id: str, cohorts: Sequence[str] = (), stage: str = "", name: str = "",
    visit: str = "", passed: tuple[str, ...] = (),
) -> Flow:  # fmt: skip
    """Book the cohorts of a box into one blend; its parents and their shares are kept with it.

    Parameters
    ----------
    cohorts : which of them; empty for all that live there
    stage : only animals of this stage; empty for all
    name : what the blend is called; empty for the names of its parents

    Raises
    ------
    EntryError : if there are not two cohorts to blend; nothing was saved
    """
    box = box_of_id(services, box_id)
    shares: dict[str, int] = {}
    groups: dict[tuple[str, str], int] = {}
    for line, n in reading.lines(services.store, [box_id])[box_id]:
        if line.cohort and (not cohorts or line.cohort in cohorts) and stage in ("", line.stage):
            shares[line.cohort] = shares.get(line.cohort, 0) + n
            key = (line.cohort, str(line.stage))
            groups[key] = groups.get(key, 0) + n
    if len(shares) < 2:
        raise EntryError(f"{box.shown} holds no two cohorts to blend. Nothing was saved.")
    now_ms = services.clock.now_ms()
    visit, into = visit or new_id(services, now_ms), new_id(services, now_ms)
    named = " × ".join(cohort_name(services, cohort) for cohort in shares)
    first = reading.entity(services.store, "cohort", next(iter(shares)))
    started: dict[str, Json] = {
        "name": name.strip() or named, "origin": "blend", "species": first.data.get("species") if first else None,
        "stage": next(iter(groups))[1],
        "parents": [{"cohort": cohort, "n": n, "weight": n} for cohort, n in shares.items()],
    }  # fmt: skip
    parts: list[Json] = [
        {"from_box": box_id, "cohort": cohort, "stage": of_stage, "n": n} for (cohort, of_stage), n in groups.items()
    ]
    drafts = [
        Draft("cohort_started", "cohort", into, started, visit=visit),
        Draft("blended", "box", box_id, {"into": into, "parts": parts}, visit=visit),
    ]
    events = log_all(services, drafts)
    done = saved(services, events[-1], passed, was_due=False)
    return Flow(done, tuple(e.id for e in events), ((into, cohort_name(services, into)),))
