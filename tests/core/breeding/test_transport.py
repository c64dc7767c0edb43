"""Whole families between sources, against the linear programs of scipy."""

import numpy as np
import pytest
from scipy.optimize import linprog

from boxside.core.breeding.transport import least_cost, most_families, with_one_more


def random_case(seed):
    rng = np.random.default_rng(seed)
    shape = tuple(rng.integers(1, 7, 2))
    allowed = rng.random(shape) < 0.6
    rows, columns = rng.integers(0, 5, shape[0]), rng.integers(0, 5, shape[1])
    return allowed, rows, columns, rng.random(shape)


def totals(shape):
    """Rows of the constraint matrix: sums by row, then by column."""
    index = np.arange(shape[0] * shape[1]).reshape(shape)
    return np.array([np.isin(index, line).ravel() for line in (*index, *index.T)], dtype=float)


@pytest.mark.parametrize("seed", range(60))
def test_most_families_is_the_maximal_flow(seed):
    allowed, rows, columns, _ = random_case(seed)
    got = most_families(allowed, rows, columns)
    bounds = [(0, None if ok else 0) for ok in allowed.ravel()]
    limits = np.concatenate([rows, columns])
    best = linprog(-np.ones(allowed.size), A_ub=totals(allowed.shape), b_ub=limits, bounds=bounds)
    assert got.sum() == round(-best.fun)
    assert (got >= 0).all()
    assert not got[~allowed].any()
    assert (got.sum(axis=1) <= rows).all()
    assert (got.sum(axis=0) <= columns).all()
    assert with_one_more(got, allowed, rows, columns) is None


@pytest.mark.parametrize("seed", range(60))
def test_least_cost_keeps_the_totals_and_costs_least(seed):
    allowed, rows, columns, cost = random_case(seed)
    start = most_families(allowed, rows, columns)
    got = least_cost(start, allowed, cost)
    bounds = [(0, None if ok else 0) for ok in allowed.ravel()]
    kept = np.concatenate([start.sum(axis=1), start.sum(axis=0)])
    best = linprog(cost.ravel(), A_eq=totals(allowed.shape), b_eq=kept, bounds=bounds)
    assert (got * cost).sum() == pytest.approx(best.fun, abs=1e-9)
    assert np.array_equal(got.sum(axis=1), start.sum(axis=1))
    assert np.array_equal(got.sum(axis=0), start.sum(axis=0))
    assert (got >= 0).all()
    assert not got[~allowed].any()


def test_one_more_family_may_need_a_pair_to_change():
    """Female 0 can meet both males and has the only one that female 1 can meet."""
    allowed = np.array([[True, True], [True, False]])
    families = np.array([[1, 0], [0, 0]])
    more = with_one_more(families, allowed, np.array([1, 1]), np.array([1, 1]))
    assert more.tolist() == [[0, 1], [1, 0]]
