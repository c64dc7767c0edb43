"""Whole families: their kinship against a count over all pairs of offspring, and the best of all plans."""

from datetime import date
from itertools import product

import numpy as np
import pytest

from boxside.core.breeding import best_contributions, choice_of, kinships
from boxside.core.breeding.transport import most_families
from boxside.core.breeding.whole import kinship_with_one_more, pool_kinship, squares_of_sires, whole_families
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import Available, Cohort, CohortKind, PairingRequest, Window
from boxside.core.values.stages import Sex
from tests.core.breeding.seasons import random_request, random_season


def cases(n_seeds, n_families, n_sources=5):
    """Seasons in which so many families can be had."""
    found = []
    for seed in range(n_seeds):
        known, available, rng = random_season(seed, n_sources)
        request = random_request(known, rng, n_families)
        try:
            found.append((known, choice_of(known, available, request), request))
        except EntryError:
            continue  # a season without enough pairs is no case
    return found


def by_counting(known, choice, request, families):
    """Mean kinship over every pair of parents of two random animals of the next pool."""
    dams, sires = [], []
    for i, source in enumerate(choice.males):
        rows = np.repeat(np.arange(len(choice.females)), families[:, i])
        for place, j in enumerate(rows):
            dams.append((choice.females[j].cohort, ("f", j, len(dams))))
            sires.append((source.cohort, ("m", i, place % source.n)))

    def kin(a, b):
        return known.s(a[0]) if a[1] == b[1] else known.k(a[0], b[0])

    offspring = np.mean([kin(x, y) for a, b in product(zip(dams, sires, strict=True), repeat=2) for x in a for y in b])
    rest = [(item.cohort, (item.cohort, n)) for item in request.standing for n in range(item.n)]
    if not rest:
        return offspring
    between = np.mean([kin(x, y) for x in dams + sires for y in rest])
    within = np.mean([kin(x, y) for x, y in product(rest, repeat=2)])
    frac = 1 - request.standing_frac
    return frac**2 * offspring + 2 * frac * (1 - frac) * between + (1 - frac) ** 2 * within


@pytest.mark.parametrize("case", cases(40, 4))
def test_kinship_of_a_plan_is_the_mean_over_all_pairs(case):
    known, choice, request = case
    families = whole_families(choice, best_contributions(choice, 4).families, 4)
    got = pool_kinship(choice, families)
    assert got == pytest.approx(by_counting(known, choice, request, families), abs=1e-12)


@pytest.mark.parametrize("case", cases(30, 3))
def test_one_more_family_is_scored_as_the_plan_with_it(case):
    _, choice, _ = case
    families = most_families(choice.allowed, choice.most_f, choice.most_m)
    while families.sum() > 2:
        families[tuple(np.argwhere(families > 0)[0])] -= 1
    pool = kinship_with_one_more(choice, families)
    for j, i in np.argwhere(np.isfinite(pool)):
        more = families.copy()
        more[j, i] += 1
        assert pool[j, i] == pytest.approx(pool_kinship(choice, more), abs=1e-12)
    full = (families.sum(axis=1) >= choice.most_f)[:, None] | (families.sum(axis=0) >= choice.most_m)[None, :]
    assert np.isinf(pool[full | ~choice.allowed]).all()


def every_plan(choice, n_families):
    """All whole plans, pair by pair."""
    pairs = np.argwhere(choice.allowed)

    def place(t, left, families):
        if left == 0:
            yield families
            return
        if t == len(pairs):
            return
        j, i = pairs[t]
        spare = min(choice.most_f[j] - families[j].sum(), choice.most_m[i] - families[:, i].sum(), left)
        for n in range(int(spare), -1, -1):
            more = families.copy()
            more[j, i] += n
            yield from place(t + 1, left - n, more)

    yield from place(0, n_families, np.zeros(choice.allowed.shape, dtype=np.int64))


def test_whole_families_are_the_best_of_all_plans_or_very_near():
    gaps = []
    for _, choice, _ in cases(60, 3, n_sources=3) + cases(25, 4, n_sources=4):
        n = 3
        ideal = best_contributions(choice, n)
        got = pool_kinship(choice, whole_families(choice, ideal.families, n))
        best = min(pool_kinship(choice, plan) for plan in every_plan(choice, n))
        assert ideal.mean_kinship <= best + 1e-9
        gaps.append(got - best)
    assert len(gaps) > 30
    assert min(gaps) > -1e-12
    assert np.mean(np.array(gaps) < 1e-9) > 0.9
    assert max(gaps) < 0.01


def test_where_rounding_takes_the_only_mate_pairs_are_changed():
    """B's females can meet A's male only, A's female both males; shares that give A's male away must not stick."""
    july = [Window(date(2025, 7, first), date(2025, 7, last)) for first, last in ((1, 9), (1, 3), (5, 9))]
    known = kinships([Cohort(name, CohortKind.FOUNDERS, size=2) for name in "AB"])
    available = [
        Available("A", Sex.FEMALE, 1, july[0]),
        Available("B", Sex.FEMALE, 1, july[1]),
        Available("A", Sex.MALE, 1, july[1]),
        Available("B", Sex.MALE, 1, july[2]),
    ]
    choice = choice_of(known, available, PairingRequest(2))
    families = whole_families(choice, np.array([[0.5, 0.0], [0.0, 0.0]]), 2)
    assert families.tolist() == [[0, 1], [1, 0]]
    with pytest.raises(EntryError, match="Only 2 families"):
        whole_families(choice, np.zeros((2, 2)), 3)


def test_clutches_are_spread_over_the_males_there_are():
    got = squares_of_sires(np.array([0, 1, 5, 6]), np.array([2, 3, 2, 3]))
    assert got.tolist() == [0, 1, 13, 12]
