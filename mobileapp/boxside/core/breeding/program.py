"""A convex quadratic program, solved by a primal-dual interior point.

References
----------
Mehrotra S. 1992, On the implementation of a primal-dual interior point method, SIAM Journal on Optimization
2:575-601. Nocedal J., Wright S.J. 2006, Numerical optimization, 2nd edition, section 16.6.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.breeding.draw import Floats

_STEP_BACK = 0.995
_MAX_STEPS = 100
_GOAL = 1e-11


@dataclass(frozen=True, slots=True)
class Program:
    """Minimise x'Hx / 2 + c'x with sum(x) = `total`, x >= 0 and Gx <= h.

    `hessian` (n, n) positive semidefinite, `linear` (n,), `rows` (m, n), `limits` (m,).
    """

    hessian: Floats
    linear: Floats
    rows: Floats
    limits: Floats
    total: float = 1.0

    def value(self, x: Floats) -> float:
        """Return the objective at `x`."""
        return float(x @ self.hessian @ x / 2.0 + self.linear @ x)


@dataclass(frozen=True, slots=True)
class Optimum:
    """The solution `x` (n,), its objective, and `kkt_residual`.

    The residual is the largest violation of any condition of Karush, Kuhn and Tucker: stationarity, the
    limits, signs of the multipliers, and multiplier times slack. Below 1e-6 the objective is right to about
    that much.
    """

    x: Floats
    value: float
    kkt_residual: float
    n_steps: int


@dataclass(slots=True)
class _Point:
    x: Floats
    price: float  # multiplier of the sum
    dual: Floats  # multipliers of all inequalities
    slack: Floats


def minimised(program: Program) -> Optimum:
    """Return the minimum of a program that has a feasible point (the caller makes sure of that).

    Notes
    -----
    Where the minimum is not unique, its centre comes back. Some x are then between 0 and 1e-9 rather than 0.
    Dense algebra: for up to about 1,000 unknowns.
    """
    n = len(program.linear)
    every_row = np.vstack([-np.eye(n), program.rows])
    every_limit = np.concatenate([np.zeros(n), program.limits])
    point = _start(program, every_row, every_limit)
    best, best_residual, steps = point.x, np.inf, 0
    while steps < _MAX_STEPS:
        residual = _residual(program, every_row, every_limit, point)
        if residual < best_residual:
            best, best_residual = point.x.copy(), residual
        if residual < _GOAL or not _advance(program, every_row, every_limit, point):
            break
        steps += 1
    x = np.maximum(best, 0.0)
    x *= program.total / x.sum()
    return Optimum(x, program.value(x), float(best_residual), steps)


def _start(program: Program, rows: Floats, limits: Floats) -> _Point:
    n = len(program.linear)
    x = np.full(n, program.total / n)
    slack = np.maximum(limits - rows @ x, program.total / n)
    scale = max(1.0, float(np.abs(program.hessian).max()))
    return _Point(x, 0.0, np.full(len(limits), scale / len(limits)), slack)


def _stationarity(program: Program, rows: Floats, point: _Point) -> Floats:
    gradient: Floats = program.hessian @ point.x + program.linear + point.price + rows.T @ point.dual
    return gradient


def _residual(program: Program, rows: Floats, limits: Floats, point: _Point) -> float:
    over = np.maximum(rows @ point.x - limits, 0.0)
    gap = point.dual * np.abs(limits - rows @ point.x)
    return float(
        max(
            np.abs(_stationarity(program, rows, point)).max(),
            over.max(),
            gap.max(),
            abs(point.x.sum() - program.total),
        )
    )


def _advance(program: Program, rows: Floats, limits: Floats, point: _Point) -> bool:
    """One predictor and corrector step, in place; False where no further digit is to be had."""
    slack, dual = point.slack, point.dual
    off_dual = _stationarity(program, rows, point)
    off_rows = rows @ point.x + slack - limits
    off_sum = point.x.sum() - program.total
    ratio = dual / slack
    kkt = np.zeros((len(point.x) + 1,) * 2)
    kkt[:-1, :-1] = program.hessian + (rows.T * ratio) @ rows
    kkt[:-1, -1] = kkt[-1, :-1] = 1.0

    def direction(product: Floats) -> tuple[Floats, float, Floats, Floats]:
        right = np.append(-off_dual - rows.T @ ((dual * off_rows - product) / slack), -off_sum)
        step = np.linalg.solve(kkt, right)
        d_slack = -off_rows - rows @ step[:-1]
        return step[:-1], float(step[-1]), (-product - dual * d_slack) / slack, d_slack

    centre = float(slack @ dual) / len(slack)
    try:
        _, _, d_dual, d_slack = direction(slack * dual)
        reach = min(_reach(slack, d_slack), _reach(dual, d_dual))
        ahead = float((slack + reach * d_slack) @ (dual + reach * d_dual)) / len(slack)
        aim = centre * (ahead / centre) ** 3
        dx, d_price, d_dual, d_slack = direction(slack * dual + d_slack * d_dual - aim)
    except np.linalg.LinAlgError:
        return False
    primal, other = _STEP_BACK * _reach(slack, d_slack), _STEP_BACK * _reach(dual, d_dual)
    step = min(1.0, primal, other)
    moved = (point.x + step * dx, point.price + step * d_price, dual + step * d_dual, slack + step * d_slack)
    if not all(np.isfinite(part).all() for part in moved) or centre < 1e-300:
        return False
    point.x, point.price, point.dual, point.slack = moved
    return True


def _reach(value: Floats, change: Floats) -> float:
    """How far, at most 1 / _STEP_BACK, `value` can go along `change` and stay positive."""
    falling = change < 0
    if not falling.any():
        return 1.0 / _STEP_BACK
    return float(min(1.0 / _STEP_BACK, (-value[falling] / change[falling]).min()))
