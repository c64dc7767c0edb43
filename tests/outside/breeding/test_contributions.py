"""Optimal contributions against a general solver: Kraft D. 1988, SLSQP, in scipy.optimize."""

import numpy as np
import pytest
from scipy.optimize import minimize

from boxside.core.breeding import best_contributions, choice_of
from boxside.core.breeding.contributions import quadratic_program
from boxside.core.values.errors import EntryError
from tests.core.breeding.seasons import random_request, random_season


def reference(program):
    """Best of several starts, since the solver may stop early; feasible to 1e-9."""
    n, best = len(program.linear), np.inf
    rng = np.random.default_rng(0)
    limits = (
        {"type": "eq", "fun": lambda x: x.sum() - 1, "jac": lambda x: np.ones(n)},
        {"type": "ineq", "fun": lambda x: program.limits - program.rows @ x, "jac": lambda x: -program.rows},
    )
    for start in rng.dirichlet(np.ones(n), 2):
        found = minimize(
            lambda x: x @ program.hessian @ x / 2 + program.linear @ x,
            start,
            jac=lambda x: program.hessian @ x + program.linear,
            bounds=[(0, 1)] * n,
            constraints=limits,
            method="SLSQP",
            options={"ftol": 1e-14, "maxiter": 500},
        )
        feasible = abs(found.x.sum() - 1) < 1e-9 and (program.rows @ found.x - program.limits).max() < 1e-9
        if feasible and found.x.min() > -1e-9:
            best = min(best, found.fun)
    return best


def seasons(n_seeds):
    """Random seasons in which the families can be had, with their choice and number of families."""
    for seed in range(n_seeds):
        known, available, rng = random_season(seed, 5)
        n_families = int(rng.integers(2, 6))
        request = random_request(known, rng, n_families)
        try:
            yield pytest.param(choice_of(known, available, request), n_families, id=str(seed))
        except EntryError:
            continue  # too few pairs: no optimum to compare


@pytest.mark.parametrize(("choice", "n_families"), list(seasons(45)))
def test_optimal_contributions_match_kraft_1988(choice, n_families):
    program, pairs = quadratic_program(choice, n_families)
    got = best_contributions(choice, n_families)
    x = got.families[pairs]
    assert x.min() >= 0
    assert x.sum() == pytest.approx(1, abs=1e-12)
    assert (program.rows @ x - program.limits).max() < 1e-7
    assert got.kkt_residual < 1e-6
    best = reference(program)
    assert np.isfinite(best)
    rest = (1 - choice.offspring_frac) ** 2 * choice.standing
    assert got.mean_kinship - rest == pytest.approx(best, abs=1e-6)
