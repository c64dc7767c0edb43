"""The quadratic program where the answer is known in closed form; a general solver is in tests/outside."""

import numpy as np
import pytest

from boxside.core.breeding.program import Program, minimised


def free(hessian, linear=None):
    """A program with no limits but x >= 0 and sum 1."""
    n = len(hessian)
    return Program(np.array(hessian, float), np.zeros(n) if linear is None else linear, np.zeros((0, n)), np.zeros(0))


@pytest.mark.parametrize("n", [1, 2, 7, 40])
def test_alike_shares_are_equal(n):
    got = minimised(free(np.eye(n)))
    assert got.x == pytest.approx(np.full(n, 1 / n), abs=1e-9)
    assert got.value == pytest.approx(1 / (2 * n))
    assert got.kkt_residual < 1e-9


def test_shares_are_inverse_to_their_own_kinship():
    got = minimised(free(np.diag([1.0, 2.0, 4.0])))
    assert got.x == pytest.approx(np.array([4, 2, 1]) / 7, abs=1e-9)


def test_a_cap_moves_the_rest_to_the_next():
    program = Program(np.diag([1.0, 2.0, 4.0]), np.zeros(3), np.eye(3)[:1], np.array([0.25]))
    assert minimised(program).x == pytest.approx([0.25, 0.5, 0.25], abs=1e-9)


def test_with_no_curvature_the_cheapest_takes_all():
    got = minimised(free(np.zeros((3, 3)), np.array([0.3, 0.1, 0.2])))
    assert got.x == pytest.approx([0, 1, 0], abs=1e-8)
    assert got.value == pytest.approx(0.1)


def test_equals_share_where_the_minimum_is_not_unique():
    got = minimised(free(np.ones((4, 4))))
    assert got.x == pytest.approx(np.full(4, 0.25), abs=1e-6)


def test_limits_that_leave_one_point_only():
    program = Program(np.eye(3), np.zeros(3), np.eye(3), np.array([0.2, 0.3, 0.5]))
    got = minimised(program)
    assert got.x == pytest.approx([0.2, 0.3, 0.5], abs=1e-7)
    assert got.kkt_residual < 1e-6


def test_a_search_that_breaks_off_says_how_far_it_came(monkeypatch):
    solve, calls = np.linalg.solve, []

    def gives_up(a, b):
        calls.append(1)
        if len(calls) > 4:
            raise np.linalg.LinAlgError("singular")
        return solve(a, b)

    monkeypatch.setattr(np.linalg, "solve", gives_up)
    got = minimised(free(np.diag([1.0, 2.0, 4.0])))
    assert got.n_steps == 2
    assert got.kkt_residual > 1e-9
    assert got.x.sum() == pytest.approx(1)
