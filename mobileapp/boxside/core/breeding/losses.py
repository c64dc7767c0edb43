"""What a plan would lose for good, and where it is thin."""

from __future__ import annotations

import numpy as np

from boxside.core.breeding.choice import Choice
from boxside.core.breeding.draw import Floats
from boxside.core.breeding.kinship import Kinships
from boxside.core.breeding.transport import Counts
from boxside.core.breeding.whole import kinship_with_one_more, pool_kinship
from boxside.core.values.lineage import PairingRequest

_TRACE = 1e-12
_CLOSE = 0.125


def warnings_of(known: Kinships, choice: Choice, families: Counts, request: PairingRequest) -> tuple[str, ...]:
    """Return a sentence for each cohort left without offspring, founder genes lost, and close pairings."""
    return (
        *_without_offspring(choice, families, request),
        *_founders_lost(known, choice, families, request),
        *_close_pairs(choice, families),
    )


def _without_offspring(choice: Choice, families: Counts, request: PairingRequest) -> list[str]:
    by_cohort: dict[str, int] = {}
    for item, n in zip(choice.females, families.sum(axis=1), strict=True):
        by_cohort[item.cohort] = by_cohort.get(item.cohort, 0) + int(n)
    for item, n in zip(choice.males, families.sum(axis=0), strict=True):
        by_cohort[item.cohort] = by_cohort.get(item.cohort, 0) + int(n)
    standing = {item.cohort: item.n for item in request.standing if item.n > 0}
    return [_left_out(choice, families, name, standing) for name, n in sorted(by_cohort.items()) if n == 0]


def _left_out(choice: Choice, families: Counts, cohort: str, standing: dict[str, int]) -> str:
    if cohort in standing:
        return f"{cohort} leaves no offspring this time; {standing[cohort]} of it stay for later."
    cost = _cost_of_including(choice, families, cohort)
    if cost is None:
        return f"{cohort} leaves no offspring: none of its animals can meet a mate. It ends with these animals."
    return (
        f"{cohort} leaves no offspring in this plan and ends with these animals. "
        f"Giving it one family instead of another costs {100 * cost:.2f} percentage points of gene diversity."
    )


def _cost_of_including(choice: Choice, families: Counts, cohort: str) -> float | None:
    rows = np.array([item.cohort == cohort for item in choice.females])
    columns = np.array([item.cohort == cohort for item in choice.males])
    has_it = rows[:, None] | columns[None, :]
    costs = []
    for j, i in np.argwhere(families > 0):
        fewer = families.copy()
        fewer[j, i] -= 1
        pool = np.where(has_it, kinship_with_one_more(choice, fewer), np.inf)
        costs.append(float(pool.min()))
    least = min(costs)
    return None if np.isinf(least) else least - pool_kinship(choice, families)


def _founders_lost(known: Kinships, choice: Choice, families: Counts, request: PairingRequest) -> list[str]:
    """Founders whose genes are in the animals at hand but in nothing that the plan keeps."""
    have, kept = np.zeros(len(known.founder_ids)), np.zeros(len(known.founder_ids))
    for item, n in zip(choice.females, families.sum(axis=1), strict=True):
        _add(known, have, kept, item.cohort, int(n))
    for item, n in zip(choice.males, families.sum(axis=0), strict=True):
        _add(known, have, kept, item.cohort, int(n))
    for standing in request.standing:
        _add(known, have, kept, standing.cohort, standing.n)
    lost = (have > _TRACE) & (kept <= _TRACE)
    return [
        f"Nothing of the founders {name} would be left after these pairings."
        for name, gone in zip(known.founder_ids, lost, strict=True)
        if gone
    ]


def _add(known: Kinships, have: Floats, kept: Floats, cohort: str, n: int) -> None:
    shares = known.shares[known.row(cohort)]
    have += shares
    if n > 0:
        kept += shares


def _close_pairs(choice: Choice, families: Counts) -> list[str]:
    return [
        f"Males of {choice.males[i].cohort} and females of {choice.females[j].cohort} are as close as half "
        "sibs or "
        f"closer (kinship {choice.kinship[j, i]:.3f}). With these animals no better plan was found."
        for j, i in np.argwhere((families > 0) & (choice.kinship >= _CLOSE))
    ]
