"""What the living hold, what will be left, and what newcomers bring."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.breeding import (
    Diversity,
    Scheme,
    diversity_ahead,
    founder_genomes,
    kinship_ahead,
    kinship_with_newcomers,
    kinships,
    living_diversity,
    newcomer_share,
    newcomers_as_equals,
    newcomers_each_generation,
    newcomers_once,
)
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import Cohort, CohortKind, Living, Parents, Source


def group(name, n):
    return Parents((Source(name, n=n),))


def founders(name, size):
    return Cohort(name, CohortKind.FOUNDERS, size=size)


def bred(name, dams, sires, **more):
    return Cohort(name, CohortKind.OFFSPRING, dams, sires, **more)


def pool(within, inbreeding=0.0, n=20):
    """A pool of n animals with this kinship."""
    mean = within + ((1 + inbreeding) / 2 - within) / n
    return Diversity(n, mean, within, inbreeding, (), (), 1.0)


# ---------------------------------------------------------------- the living


def test_a_family_and_its_unrelated_neighbours():
    line = [founders("W", 2), bred("sibs", group("W", 1), group("W", 1)), founders("new", 4)]
    got = living_diversity(kinships(line), [Living("sibs", unsexed=6), Living("new", 2, 2)])
    # 10 selves of 1/2 and 30 ordered pairs of sibs of 1/4
    assert got.n == 10
    assert got.mean_kinship == pytest.approx((10 * 0.5 + 30 * 0.25) / 100)
    assert got.within == pytest.approx(30 * 0.25 / 90)
    assert got.gene_diversity == pytest.approx(1 - 0.125)
    assert got.founder_genomes == pytest.approx(4)
    assert dict(got.founder_shares) == pytest.approx({"W": 0.6, "new": 0.4})
    assert got.founder_equivalents == pytest.approx(1 / (2 * 0.3**2 + 4 * 0.1**2))
    assert [name for name, _ in got.cohort_kinship] == ["new", "sibs"]
    assert got.cohort_kinship[0][1] == pytest.approx(0.5 / 10)
    assert got.cohort_kinship[1][1] == pytest.approx((0.5 + 5 * 0.25) / 10)


def test_mean_kinship_is_the_mean_over_cohorts():
    line = [founders("W", 4), bred("A", group("W", 2), group("W", 1)), bred("B", group("A", 2), group("W", 1))]
    counts = {"W": 3, "A": 5, "B": 7}
    got = living_diversity(kinships(line), [Living(name, unsexed=n) for name, n in counts.items()])
    mean = sum(counts[name] * value for name, value in got.cohort_kinship) / got.n
    assert got.mean_kinship == pytest.approx(mean)
    assert sum(share for _, share in got.founder_shares) == pytest.approx(1)


def test_nothing_alive_has_no_diversity():
    known = kinships([founders("W", 2)])
    with pytest.raises(EntryError, match="No living animal"):
        living_diversity(known, [])
    alone = living_diversity(known, [Living("W", males=1)])
    assert np.isnan(alone.within)
    with pytest.raises(EntryError, match="cannot be bred"):
        diversity_ahead(alone, Scheme(1, 1))
    with pytest.raises(EntryError, match="above 0"):
        founder_genomes(0.0)


# ---------------------------------------------------------------- ahead


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 6), st.integers(1, 6), st.integers(0, 3))
def test_ahead_is_what_the_line_itself_would_give(n_dams, n_sires, males_per_clutch):
    """The recursion against cohorts bred on from each other."""
    line = [founders("0", 30)]
    for t in range(6):
        parents = (group(str(t), n_dams), group(str(t), n_sires))
        line.append(bred(str(t + 1), *parents, size=30, males_per_clutch=males_per_clutch))
    known = kinships(line)
    ahead = kinship_ahead(0.0, 0.0, Scheme(n_dams, n_sires, males_per_clutch), 6)
    assert ahead == pytest.approx([known.w(str(t)) for t in range(7)], abs=1e-14)


def test_diversity_ahead_at_the_usual_generations():
    now = pool(0.1)
    got = dict(diversity_ahead(now, Scheme(6, 6)))
    ahead = kinship_ahead(0.1, 0.0, Scheme(6, 6), 10)
    assert got == {1: 1 - ahead[1], 5: 1 - ahead[5], 10: 1 - ahead[10]}
    assert got[1] > got[5] > got[10]


def test_a_generation_needs_both_sexes():
    with pytest.raises(EntryError, match="one female and one male"):
        kinship_ahead(0.0, 0.0, Scheme(0, 1), 1)


# ---------------------------------------------------------------- newcomers


def test_one_newcomer_is_one_founder_genome():
    assert newcomers_once(0.125, 0.1) == 1
    assert newcomers_once(0.125, 0.05) == 6
    assert newcomers_once(0.125, 0.2) == 0
    assert newcomer_share(0.125, 4) == 0.5
    assert newcomer_share(0.125, 0) == 0.0


@settings(deadline=None, max_examples=40)
@given(st.floats(0.02, 0.6), st.floats(0.01, 0.6), st.integers(1, 60))
def test_fewest_newcomers_are_enough_and_one_less_is_not(mean, target, n):
    once, equals = newcomers_once(mean, target), newcomers_as_equals(n, mean, target)

    def at_best(m):
        share = newcomer_share(mean, m)
        return (1 - share) ** 2 * mean + (share**2 / (2 * m) if m else 0.0)

    def as_equals(m):
        return (n**2 * mean + m / 2) / (n + m) ** 2

    assert at_best(once) <= target + 1e-7
    assert once == 0 or at_best(once - 1) > target - 1e-7
    assert as_equals(equals) <= target + 1e-7
    assert equals == 0 or as_equals(equals - 1) > target - 1e-7
    assert once <= equals


@settings(deadline=None, max_examples=30)
@given(st.integers(1, 5), st.integers(1, 5), st.integers(0, 5), st.integers(0, 5))
def test_newcomers_in_every_generation_are_what_the_line_itself_would_give(n_dams, n_sires, new_f, new_m):
    new_f, new_m = min(new_f, n_dams), min(new_m, n_sires)
    line = [founders("W", 4), bred("0", group("W", 1), group("W", 1), size=30)]
    for t in range(4):
        line.append(founders(f"new{t}", 20))
        dams = tuple(Source(x, n=n) for x, n in ((str(t), n_dams - new_f), (f"new{t}", new_f)) if n)
        sires = tuple(Source(x, n=n) for x, n in ((str(t), n_sires - new_m), (f"new{t}", new_m)) if n)
        line.append(bred(str(t + 1), Parents(dams), Parents(sires), size=30))
    known = kinships(line)
    got = kinship_with_newcomers(pool(0.25), Scheme(n_dams, n_sires), new_f, new_m, 4)
    assert got == pytest.approx([known.w(str(t)) for t in range(5)], abs=1e-14)


def test_newcomers_each_generation_hold_the_target():
    now, scheme = pool(0.2), Scheme(6, 6)
    females, males = newcomers_each_generation(now, scheme, 0.1, 10)
    assert kinship_with_newcomers(now, scheme, females, males, 10)[-1] <= 0.1
    assert females + males > 0
    fewer = [(f, females + males - 1 - f) for f in range(females + males)]
    assert all(kinship_with_newcomers(now, scheme, f, m, 10)[-1] > 0.1 for f, m in fewer)
    assert newcomers_each_generation(pool(0.01), scheme, 0.9, 3) == (0, 0)


def test_a_target_below_what_newcomers_alone_give_cannot_be_met():
    """One pair a generation: the young are full sibs, and of an unrelated male no closer than that, 1/4."""
    assert newcomers_each_generation(pool(0.2), Scheme(1, 1), 0.2, 5) is None
    assert newcomers_each_generation(pool(0.2), Scheme(1, 1), 0.25, 5) == (0, 1)


@pytest.mark.parametrize(
    "call",
    [
        lambda: newcomers_once(0.1, 0.0),
        lambda: newcomers_once(0.0, 0.1),
        lambda: newcomers_as_equals(0, 0.1, 0.05),
        lambda: kinship_with_newcomers(pool(0.1), Scheme(2, 2), 3, 0, 1),
    ],
)
def test_what_has_no_meaning_is_refused(call):
    with pytest.raises(EntryError):
        call()
