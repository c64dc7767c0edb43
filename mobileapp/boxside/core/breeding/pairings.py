"""The season's pairings, with reasons, second choices and what would be lost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from boxside.core.breeding.choice import Choice, choice_of, overlap_of
from boxside.core.breeding.contributions import Contributions, best_contributions
from boxside.core.breeding.draw import Floats
from boxside.core.breeding.kinship import Kinships
from boxside.core.breeding.losses import warnings_of
from boxside.core.breeding.reasons import alternative_text, kinship_reason, overlap_reason, source_reasons
from boxside.core.breeding.transport import Counts, most_families
from boxside.core.breeding.whole import best_pair, kinship_with_one_more, pool_kinship, whole_families
from boxside.core.values.lineage import (
    Alternative,
    Available,
    Pairing,
    PairingPlan,
    PairingRequest,
    Share,
)
from boxside.core.values.stages import Sex

_SURE = 1e-6


def best_pairings(known: Kinships, available: Sequence[Available], request: PairingRequest) -> PairingPlan:
    """Return the pairings that keep most gene diversity in the next pool.

    Parameters
    ----------
    known : kinship of the line
    available : animals by cohort, sex and days; a cohort may be named again with other days
    request : how many families, and what else is asked

    Raises
    ------
    EntryError : if the families cannot be had, with the reason

    Notes
    -----
    First the contributions that minimise mean kinship, then whole animals (`whole_families`), then mates of
    least kinship. Of the numbers of families allowed, the one with the least mean kinship is taken, the
    fewest at a tie.
    """
    choice = choice_of(known, available, request)
    ideal = best_contributions(choice, request.n_families)
    families = _best_whole(choice, ideal, request)
    return PairingPlan(
        _pairings(choice, families),
        int(families.sum()),
        pool_kinship(choice, families),
        ideal.mean_kinship,
        ideal.kkt_residual,
        _shares(choice, ideal.families, families),
        _alternatives(choice, families),
        (*warnings_of(known, choice, families, request), *_unsure(ideal)),
    )


def _unsure(ideal: Contributions) -> tuple[str, ...]:
    """Where the search stopped early: the pairings stand, only the optimum they are compared with is unsure."""
    if ideal.kkt_residual < _SURE:
        return ()
    return (
        f"The best possible mean kinship is known to about {ideal.kkt_residual:.1g} only; the pairings can be used.",
    )


def _best_whole(choice: Choice, ideal: Contributions, request: PairingRequest) -> Counts:
    possible = int(most_families(choice.allowed, choice.most_f, choice.most_m).sum())
    most = min(max(request.most_families, request.n_families), possible)
    plans = [whole_families(choice, ideal.families, n) for n in range(request.n_families, most + 1)]
    return min(plans, key=lambda plan: round(pool_kinship(choice, plan), 12))


def _pairings(choice: Choice, families: Counts) -> tuple[Pairing, ...]:
    sires = _sires(choice, families)
    pairs = [(int(j), int(i)) for j, i in np.argwhere(families > 0)]
    pairs.sort(key=lambda pair: (choice.males[pair[1]].cohort, choice.females[pair[0]].cohort))
    return tuple(_pairing(choice, families, pair, sires) for pair in pairs)


def _sires(choice: Choice, families: Counts) -> dict[tuple[int, int], set[int]]:
    """Which males of its source serve each pair: neighbours in the list, so that few serve two pairs."""
    serving: dict[tuple[int, int], set[int]] = {}
    for i, source in enumerate(choice.males):
        rows = np.repeat(np.arange(len(choice.females)), families[:, i])
        used = min(source.n, len(rows))
        for place, j in enumerate(rows.tolist()):
            serving.setdefault((j, i), set()).add(place * used // len(rows))
    return serving


def _pairing(
    choice: Choice, families: Counts, pair: tuple[int, int], sires: dict[tuple[int, int], set[int]]
) -> Pairing:
    j, i = pair
    female, male, kinship = choice.females[j], choice.males[i], float(choice.kinship[j, i])
    elsewhere = sorted(
        choice.females[row].cohort
        for (row, column), used in sires.items()
        if column == i and row != j and used & sires[pair]
    )
    reasons = (
        kinship_reason(kinship),
        overlap_reason(female, male),
        *source_reasons(choice, pair, int(families[j, i]), elsewhere),
    )
    window = overlap_of(female, male)[1]
    return Pairing(male.cohort, female.cohort, len(sires[pair]), int(families[j, i]), kinship, window, reasons)


def _shares(choice: Choice, ideal: Floats, families: Counts) -> tuple[Share, ...]:
    planned = families / families.sum()
    rows = zip(choice.females, ideal.sum(axis=1), planned.sum(axis=1), strict=True)
    columns = zip(choice.males, ideal.sum(axis=0), planned.sum(axis=0), strict=True)
    return tuple(
        [Share(item.cohort, Sex.FEMALE, float(best) / 2.0, float(got) / 2.0) for item, best, got in rows]
        + [Share(item.cohort, Sex.MALE, float(best) / 2.0, float(got) / 2.0) for item, best, got in columns]
    )


def _alternatives(choice: Choice, families: Counts) -> tuple[Alternative, ...]:
    """The best single replacement for one family of each pairing, the cheapest first."""
    planned = pool_kinship(choice, families)
    found = []
    for j, i in np.argwhere(families > 0):
        fewer = families.copy()
        fewer[j, i] -= 1
        pool = kinship_with_one_more(choice, fewer)
        pool[j, i] = np.inf
        found.append(_alternative(choice, (int(j), int(i)), fewer, pool, planned))
    return tuple(sorted(found, key=lambda item: (item.males == "", round(item.lost, 12), item.instead_of)))


def _alternative(choice: Choice, pair: tuple[int, int], fewer: Counts, pool: Floats, planned: float) -> Alternative:
    instead_of = (choice.males[pair[1]].cohort, choice.females[pair[0]].cohort)
    if np.isinf(pool).all():
        lost = pool_kinship(choice, fewer) - planned if fewer.sum() else 1.0 - planned
        return Alternative(instead_of, "", "", lost, alternative_text(instead_of, None, lost))
    row, column = best_pair(choice, pool)
    other = (choice.males[column].cohort, choice.females[row].cohort)
    lost = float(pool[row, column]) - planned
    return Alternative(instead_of, *other, lost, alternative_text(instead_of, other, lost))
