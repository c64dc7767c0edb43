"""A line for tests: founders, clutches and matings logged through the actions, and how it is read back."""

from __future__ import annotations

from typing import Any

from boxside.actions import founders, line, log_event, mating_group
from boxside.actions.entry import named_entity
from boxside.actions.stamping import new_id
from boxside.core.values.event import Draft
from boxside.core.values.line_view import CohortRow, Founding, LineView, Parent
from boxside.core.values.views import Saved
from boxside.store import reading
from tests.actions.keeping import Keeper


def found(keeper: Keeper, name: str, n: int, box: str, **more: Any) -> Saved:
    """Add founders to a box, which is made where there is none."""
    make_box(keeper, box)
    return founders.add_founders(keeper.services, Founding(name, n, box, **more))


def make_box(keeper: Keeper, label: str) -> None:
    """Make an empty box where there is none of that code."""
    if not reading.boxes_labelled(keeper.services.store, label):
        keeper.add(label, stage="", n=None)


def start(keeper: Keeper, name: str, day: str, *parents: Parent, origin: str = "laid", **fields: Any) -> str:
    """Start a cohort on a day with parents entered by hand; return its id."""
    listed = [
        {
            "cohort": named_entity(keeper.services, "cohort", parent.cohort),
            **({"sex": parent.sex} if parent.sex else {}),
            **({"n": parent.n} if parent.n else {}),
            **({"weight": parent.weight} if parent.weight is not None else {}),
        }
        for parent in parents
    ]
    cohort = new_id(keeper.services, keeper.at(day))
    said = {"name": name, "origin": origin, "stage": "egg", "parents": listed or None, **fields}
    log_event.log_all(keeper.services, [Draft("cohort_started", "cohort", cohort, said, at_ms=keeper.at(day))])
    return cohort


def lay(keeper: Keeper, box: str, name: str, n: int = 40, mother: str = "", **fields: Any) -> str:
    """Log a clutch in a box now, as a new cohort without entered parents; return its id."""
    cohort = new_id(keeper.services, keeper.services.clock.now_ms())
    said = {"name": name, "origin": "laid", "stage": "egg", **fields}
    laid = {"cohort": cohort, "n": n, "mother": mother or None}
    log_event.log_all(
        keeper.services,
        [Draft("cohort_started", "cohort", cohort, said), Draft("laid", "box", keeper.id(box), laid)],
    )
    return cohort


def female(cohort: str, n: int = 1, weight: float | None = None) -> Parent:
    """Possible dams."""
    return Parent(cohort, "female", n, weight)


def male(cohort: str, n: int = 1, weight: float | None = None) -> Parent:
    """Possible sires."""
    return Parent(cohort, "male", n, weight)


def introduce(keeper: Keeper, box: str, from_box: str, n: int = 1) -> Saved:
    """Bring males from one box to another."""
    return mating_group.introduce(keeper.services, keeper.id(box), keeper.id(from_box), n)


def view(keeper: Keeper) -> LineView:
    """Read the line."""
    return line.line_view(keeper.services)


def rows(keeper: Keeper) -> dict[str, CohortRow]:
    """Read the cohorts of the line by name."""
    return {row.name: row for row in view(keeper).cohorts}
