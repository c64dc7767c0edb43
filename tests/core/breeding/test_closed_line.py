"""Pairings from the plan keep clearly more gene diversity than mating at random."""

import numpy as np
import pytest

from tests.core.breeding.closed_line import (
    Planner,
    comparison,
    diversity_kept,
    founders,
    interval,
    last_adults,
    mate_at_random,
    next_adults,
)


def test_plan_beats_random_mating_by_five_points_over_fifteen_generations():
    got = comparison(range(8))
    mean, low, _ = got.gain()
    assert low > 5.0
    assert mean > 5.0
    # Taking one of each family explains most of it; who is mated with whom must not cost anything.
    assert interval(got.planned - got.equal)[2] > 0.0


def test_true_kinship_of_a_full_sib_family():
    """Two pairs of unrelated founders: sibs 1/4, others 0, selves 1/2."""
    adults = next_adults(founders(), [(0, 2), (4, 6)], np.random.default_rng(3))
    same_family = adults.family[:, None] == adults.family[None, :]
    expected = np.where(same_family, 0.25, 0.0)
    np.fill_diagonal(expected, 0.5)
    assert np.array_equal(adults.kinship, expected)


@pytest.mark.parametrize("seed", range(10))
def test_what_the_planner_expects_is_what_happens(seed):
    """One dam and one sire to a cohort: its members are alike, so its kinship is that of the true pedigree."""
    planner = Planner()
    adults = last_adults(planner, seed, 6)
    known = planner.known
    table = np.array([[known.k(a, b) for b in planner.names] for a in planner.names])
    expected = table[np.ix_(adults.family, adults.family)]
    np.fill_diagonal(expected, [known.s(planner.names[i]) for i in adults.family])
    assert adults.kinship == pytest.approx(expected, abs=1e-14)


def test_the_same_seed_gives_the_same_line():
    assert diversity_kept(mate_at_random, 5, 3) == diversity_kept(mate_at_random, 5, 3)
    assert diversity_kept(mate_at_random, 5, 3) != diversity_kept(mate_at_random, 6, 3)
