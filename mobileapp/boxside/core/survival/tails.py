"""Tail probabilities and quantiles of the normal, chi-square, beta, binomial and beta-binomial laws.

Written out because the phone carries no scipy. Relative accuracy is about 1e-12 for shapes up to a few
thousand, set by the logarithm of the gamma function.

References
----------
Press W.H., Teukolsky S.A., Vetterling W.T., Flannery B.P. 1992, Numerical Recipes, sections 6.2 and 6.4
(series and continued fractions; from memory).
Lentz W.J. 1976, Generating Bessel functions in Mie scattering calculations using continued fractions,
Applied Optics 15:668-671 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import count
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

_TINY = 1e-300
_EPS = 1e-16
_MOST_TERMS = 100_000


def normal_sf(z: float) -> float:
    """Return the probability that a standard normal value exceeds z."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))


def normal_quantile(p: float) -> float:
    """Return the standard normal quantile of p, 0 < p < 1."""
    return NormalDist().inv_cdf(p)


def two_sided_z(level: float) -> float:
    """Return z so that a standard normal value lies within -z to z with probability `level`.

    Raises
    ------
    ValueError : unless 0 < level < 1
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"a confidence level lies between 0 and 1, got {level}")
    return -normal_quantile((1.0 - level) / 2.0)


def chi2_sf(x: float, df: int) -> float:
    """Return the probability that a chi-square value with df degrees of freedom exceeds x.

    Raises
    ------
    ValueError : if df is below 1
    """
    if df < 1:
        raise ValueError(f"chi-square needs at least one degree of freedom, got {df}")
    return gamma_q(df / 2.0, x / 2.0)


def gamma_q(a: float, x: float) -> float:
    """Return the upper regularised incomplete gamma function Q(a, x), a > 0."""
    if x <= 0.0:
        return 1.0
    log_front = a * math.log(x) - x - math.lgamma(a)
    if x < a + 1.0:
        return 1.0 - math.exp(log_front) * _gamma_series(a, x)
    return math.exp(log_front) * _lentz(x + 1.0 - a, lambda i: (i * (a - i), x + 1.0 - a + 2.0 * i))


def _gamma_series(a: float, x: float) -> float:
    term = total = 1.0 / a
    for i in range(1, _MOST_TERMS):
        term *= x / (a + i)
        total += term
        if term < total * _EPS:
            return total
    raise ArithmeticError(f"incomplete gamma series did not settle for a={a}, x={x}")


def _lentz(b0: float, step: Callable[[int], tuple[float, float]]) -> float:
    """Return 1/(b0 + a1/(b1 + a2/(b2 + ...))), with step(i) = (a_i, b_i)."""
    d = 1.0 / (b0 or _TINY)
    c = 1.0 / _TINY
    h = d
    for i in range(1, _MOST_TERMS):
        a, b = step(i)
        d = 1.0 / ((b + a * d) or _TINY)
        c = (b + a / c) or _TINY
        h *= c * d
        if abs(c * d - 1.0) < _EPS * 4:
            return h
    raise ArithmeticError("continued fraction did not settle")


def beta_cdf(x: float, a: float, b: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b), a and b above zero."""
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _beta_front(1.0 - x, b, a)
    return _beta_front(x, a, b)


def beta_sf(x: float, a: float, b: float) -> float:
    """Return 1 - I_x(a, b) without losing small tails."""
    return beta_cdf(1.0 - x, b, a)


def _beta_front(x: float, a: float, b: float) -> float:
    log_front = a * math.log(x) + b * math.log1p(-x) - _log_beta(a, b) - math.log(a)
    return math.exp(log_front) * _lentz(1.0, lambda i: (_beta_step(i, x, a, b), 1.0))


def _beta_step(i: int, x: float, a: float, b: float) -> float:
    m, odd = divmod(i, 2)
    if odd:
        return -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
    return m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def beta_quantile(p: float, a: float, b: float) -> float:
    """Return x with I_x(a, b) = p, by halving until no double lies between.

    Raises
    ------
    ValueError : unless 0 <= p <= 1
    """
    if not 0.0 <= p <= 1.0:
        raise ValueError(f"a probability lies between 0 and 1, got {p}")
    if p in (0.0, 1.0):
        return p
    lo, hi = 0.0, 1.0
    for _ in count():
        mid = 0.5 * (lo + hi)
        if mid in (lo, hi) or hi - lo < 1e-16 * mid:
            break
        lo, hi = (mid, hi) if beta_cdf(mid, a, b) < p else (lo, mid)
    return 0.5 * (lo + hi)


def _log_choose(n: int) -> FloatArray:
    return np.array([math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1) for k in range(n + 1)])


def binomial_pmf(n: int, p: float) -> FloatArray:
    """Return the probabilities (n + 1,) of 0 to n successes in n trials of chance p, 0 <= p <= 1."""
    k = np.arange(n + 1)
    if p <= 0.0 or p >= 1.0:
        return np.asarray(k == (0 if p <= 0.0 else n), dtype=np.float64)
    out: FloatArray = np.exp(_log_choose(n) + k * math.log(p) + (n - k) * math.log1p(-p))
    return out


def binomial_pmf_of_log(n: int, log_p: FloatArray) -> FloatArray:
    """Return (m, n + 1) binomial probabilities for chances given as logarithms (m,), all below zero.

    The logarithm keeps 1 - p exact where p is so near to 1 that a double cannot hold the difference.
    """
    k = np.arange(n + 1)
    log_rest = np.log(-np.expm1(log_p))
    out: FloatArray = np.exp(_log_choose(n) + np.outer(log_p, k) + np.outer(log_rest, n - k))
    return out


def beta_binomial_pmf(n: int, a: float, b: float) -> FloatArray:
    """Return the probabilities (n + 1,) of 0 to n successes when the chance itself is Beta(a, b)."""
    logs = [_log_beta(k + a, n - k + b) - _log_beta(a, b) for k in range(n + 1)]
    out: FloatArray = np.exp(_log_choose(n) + np.array(logs))
    return out
