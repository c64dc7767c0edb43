"""The flows of the invented colony: views as the actions would return them, and what was called."""

from __future__ import annotations

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from boxside.core.values.season import (
    ClutchView,
    CountResult,
    Flow,
    Parent,
    SeasonView,
    Section,
    StageOffer,
    StageView,
    Target,
    TransferDone,
    TransferView,
)
from boxside.core.values.views import Notice, Saved, Undo
from tests.core.charts.samples import SAMPLES
from tests.ui import fake_colony
from tests.ui.fake_colony import Services, fail_if_told

CHECKS = (
    "The old box B01: in and under the lining",
    "Under the lining, in folds and in empty snail shells",
    "Under the lid and along its rim",
    "The shelf around the box, and the boxes next to it",
)
SIZES = (("small", "Small"), ("middle", "Middle"), ("large", "Large"))
STEPS = (
    "Take a fresh box, or one that is in use: lined, moist, with its code on the lid.",
    "Move the animals and count them as they go over.",
)
FLOW_EVENTS = ("f1", "f2")


def remember(services: Services, name: str, given: Any, box_id: str) -> Saved:
    """Keep what an action was given; returns what saving it would."""
    fail_if_told(services)
    services.asked.append((name, given))
    box = next(b for b in services.boxes if b.box_id == box_id)
    return Saved("f2", Undo("f2", f"{box.label}: {name}"), fake_colony._view(services, box))


def flow(services: Services, name: str, given: Any, box_id: str, notice: Notice | None = None) -> Flow:
    """Return a flow of two entries."""
    return Flow(remember(services, name, given, box_id), FLOW_EVENTS, notice=notice)


def n_here(services: Services) -> int:
    """Return how many animals live in each box."""
    return sum(group.n for group in services.groups)


def transfer_view(services: Services, box_id: str) -> TransferView:
    """Return what a transfer starts with; the last box is empty."""
    box = next(b for b in services.boxes if b.box_id == box_id)
    others = [b for b in services.boxes if b.box_id != box_id]
    targets = tuple(Target(b.box_id, b.label, b.who, b is others[0]) for b in reversed(others))
    return TransferView(
        box_id, box.label, box.who, n_here(services), False, services.groups, targets,
        f"B{len(services.boxes) + 1:02d}", SIZES, STEPS, CHECKS, visit=f"visit-{box_id}",
    )  # fmt: skip


def transfer(services: Services, draft: Any, passed: tuple[str, ...] = ()) -> TransferDone:
    """Remember a transfer."""
    moved = sum(part.n or n_here(services) for part in draft.parts)
    left = n_here(services) - moved
    sentence = f"{moved} moved to {draft.parts[0].to_label or 'B02'}. " + (
        f"{left} larvae of B01 were not among them: search the old lining before you confirm that it is empty."
        if left and draft.empties
        else "B01 stays to be checked until it is confirmed empty."
    )
    made = flow(services, "transfer", draft, draft.box_id)
    return TransferDone(made, sentence, moved, left, CHECKS if draft.empties else (), "B01")


def counted(saved: Saved, expected: int, n: int, complete: bool) -> CountResult:
    """Return what a count says."""
    lost = expected - n
    if not complete:
        sentence = f"{n} seen of {expected} larvae expected: at least so many are there. Nothing is missing yet."
        return CountResult(saved, expected, n, lost, complete, "lower_bound", sentence)
    if lost <= 0:
        return CountResult(saved, expected, n, lost, complete, "complete", f"All {n} larvae that were expected.")
    sentence = (
        f"{lost} of {expected} larvae are missing after 12 days, where ordinary deaths explain at most 2: "
        "more than survival explains. Look for a way out."
    )
    return CountResult(saved, expected, n, lost, complete, "more_than_explained", sentence, CHECKS, 0.003)


def count_box(services: Services, draft: Any, passed: tuple[str, ...] = ()) -> CountResult:
    """Remember a count."""
    saved = remember(services, "count_box", draft, draft.box_id)
    return counted(saved, n_here(services), draft.n, draft.complete)


def confirm_empty(
    services: Services, box_id: str, retire: bool | None = None, visit: str = "", passed: tuple[str, ...] = ()
) -> CountResult:
    """Remember that a box was confirmed empty."""
    return counted(remember(services, "confirm_empty", box_id, box_id), n_here(services), 0, True)


def stage_view(services: Services, box_id: str) -> StageView:
    """Return the groups of a box."""
    box = next(b for b in services.boxes if b.box_id == box_id)
    by_stage = {stage: sum(g.n for g in services.groups if g.stage == stage) for stage in ("egg", "larva", "pupa")}
    offers = []
    if by_stage["larva"]:
        n = by_stage["larva"]
        offers = [StageOffer("larva", "Moulted", n, instar=4), StageOffer("prepupa", "Prepupae", n)]
        offers.append(StageOffer("pupa", "Pupated", n, has_sex=True))
    if by_stage["pupa"]:
        offers.append(StageOffer("adult", "Emerged", by_stage["pupa"], has_sex=True))
    if by_stage["egg"]:
        offers.append(StageOffer("larva", "Hatched", by_stage["egg"]))
    return StageView(box_id, box.label, box.who, services.groups, tuple(offers), (), f"visit-{box_id}")


def change_stage(services: Services, draft: Any, passed: tuple[str, ...] = ()) -> Flow:
    """Remember a change of stage."""
    notice = Notice("1 correction booked before it.") if draft.as_correction else None
    return flow(services, "change_stage", draft, draft.box_id, notice)


def clutch_view(services: Services, box_id: str) -> ClutchView:
    """Return who may be the parents of a clutch: those who live in the box."""
    adults = tuple(Parent(g.cohort, g.n, g.cohort_name) for g in services.groups if g.stage == "adult")
    eggs = tuple((g.cohort, g.cohort_name) for g in services.groups if g.stage == "egg")
    return ClutchView(box_id, "B01", "2026 K", adults, adults[:1], eggs, f"visit-{box_id}")


def lay_clutch(services: Services, draft: Any, passed: tuple[str, ...] = ()) -> Flow:
    """Remember a clutch."""
    return flow(services, "lay_clutch", draft, draft.box_id)


def mark_individual(services: Services, draft: Any, passed: tuple[str, ...] = ()) -> Flow:
    """Remember a mark."""
    return flow(services, "mark_individual", draft, draft.box_id)


def blend(
    services: Services, box_id: str, cohorts: Any = (), stage: str = "", name: str = "", visit: str = "",
    passed: tuple[str, ...] = (),
) -> Flow:  # fmt: skip
    """Remember a blend."""
    return flow(services, "blend", cohorts, box_id)


def undo_flow(services: Services, events: Any, passed: tuple[str, ...] = (), watch: Any = None) -> Saved:
    """Take a flow back."""
    services.voided.extend(events)
    box = services.boxes[0]
    taken = Notice("Taken back: 2 entries that were made at once.")
    return Saved("v1", None, fake_colony._view(services, box), taken)


def season_view(
    services: Services, season: str = "", from_day: Any = None, to_day: Any = None, cohort: str = ""
) -> SeasonView:
    """Return a season of every kind of chart, and a section without one."""
    services.asked.append(("season_view", (season, from_day, to_day, cohort)))
    first, last = from_day or date(2026, 1, 1), to_day or date(2026, 11, 25)
    numbers = (
        ("Larvae on the first day and the last", "312 and 274"),
        ("Survival of a larva over 100 days", "81 of 100, between 74 and 87 with 95 % confidence"),
    )
    sections = [
        Section(name, chart().title, chart(), numbers, notes=("Right-censored only; counts where few died.",))
        for name, chart in SAMPLES.items()
    ]
    few = Section("hatch", "How many eggs hatched", None, (("Clutches", "2: too few for a picture"),))
    whose = f"{dict(COHORTS)[cohort]}, " if cohort else ""
    return SeasonView(
        f"{whose}{season or f'{first} to {last}'}", first, last, (*sections, few), cohort, COHORTS,
        (("2026", date(2026, 1, 1), date(2026, 12, 31)), ("Breeding 2026", date(2026, 5, 1), date(2026, 8, 31))),
    )  # fmt: skip


COHORTS = (("c1", "Alder 2026"), ("c2", "Birch 2025"))


def zone_of(services: Services) -> ZoneInfo:
    """Return the keeper's zone."""
    return ZoneInfo("Europe/Berlin")


def nudge_if_time(services: Services) -> None:
    """It is never time."""
    services.asked.append(("nudge_if_time", ()))


NAMES = (
    "blend", "change_stage", "clutch_view", "confirm_empty", "count_box", "lay_clutch",
    "mark_individual", "nudge_if_time", "season_view", "stage_view", "transfer", "transfer_view", "undo_flow",
    "zone_of",
)  # fmt: skip
FLOW_ACTIONS: dict[str, Any] = {name: globals()[name] for name in NAMES}

__all__ = ["CHECKS", "FLOW_ACTIONS", "FLOW_EVENTS"]
