"""A mixture of normal laws in one dimension, fitted by expectation-maximisation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.growth.student import FloatArray

_MOST_STEPS = 20_000


@dataclass(frozen=True, slots=True)
class MixtureRule:
    """What a mixture is held to.

    `evenly_spaced` puts the means on a line (Dyar's rule on log sizes); `shared_sd` gives all groups one
    spread; no spread falls below `least_sd`, which keeps a group from shrinking onto one animal. The fit
    ends when a step gains less than `tolerance` of log-likelihood per value.
    """

    evenly_spaced: bool = False
    shared_sd: bool = False
    least_sd: float = 1e-6
    tolerance: float = 1e-10


@dataclass(frozen=True, slots=True)
class Mixture:
    """Groups by rising mean, with their spreads and shares, and how well they fit.

    `bic` is lower for the better account of the values; it charges log(n) for each free parameter.
    `shared_sd` says whether all groups were held to one spread.
    """

    means: tuple[float, ...]
    sds: tuple[float, ...]
    weights: tuple[float, ...]
    log_likelihood: float
    n: int
    n_parameters: int
    shared_sd: bool

    @property
    def bic(self) -> float:
        """Schwarz's criterion: parameters times log(n) minus twice the log-likelihood."""
        return self.n_parameters * math.log(self.n) - 2.0 * self.log_likelihood


def fit_mixture(values: FloatArray, start_means: Sequence[float], rule: MixtureRule) -> Mixture:
    """Return the mixture reached from the given start.

    Parameters
    ----------
    values : (n,) on the scale on which groups are normal
    start_means : one for each group, rising
    rule : what means and spreads are held to

    Raises
    ------
    ValueError : if there are fewer values than groups, or no group
    ArithmeticError : if the fit does not settle

    Notes
    -----
    Finds the nearest local maximum only; try several starts (`best_mixture`).

    References
    ----------
    Dempster A.P., Laird N.M., Rubin D.B. 1977, Maximum likelihood from incomplete data via the EM
    algorithm, J. R. Stat. Soc. B 39:1-38. Schwarz G. 1978, Estimating the dimension of a model, Ann.
    Stat. 6:461-464. Both from memory; compared with scikit-learn.
    """
    k = len(start_means)
    if not 1 <= k <= values.size:
        raise ValueError(f"{values.size} values cannot be parted into {k} groups")
    means = np.asarray(start_means, dtype=np.float64)
    sds = np.full(k, max(float(values.std()) / k, rule.least_sd))
    weights = np.full(k, 1.0 / k)
    last = -math.inf
    for _ in range(_MOST_STEPS):
        shares, log_likelihood = memberships(values, means, sds, weights)
        if log_likelihood - last < rule.tolerance * values.size:
            return _mixture(values.size, means, sds, weights, log_likelihood, rule)
        last = log_likelihood
        means, sds, weights = _refit(values, shares, sds, rule)
    raise ArithmeticError(f"a mixture of {k} groups did not settle in {_MOST_STEPS} steps")


def memberships(
    values: FloatArray, means: FloatArray, sds: FloatArray, weights: FloatArray
) -> tuple[FloatArray, float]:
    """Return (n, k) the probability of each group for each value, and the log-likelihood of all values."""
    z = (values[:, None] - means) / sds
    logs = np.log(np.maximum(weights, 1e-300)) - np.log(sds) - 0.5 * z * z - 0.5 * math.log(2.0 * math.pi)
    top = logs.max(axis=1, keepdims=True)
    parts = np.exp(logs - top)
    sums = parts.sum(axis=1, keepdims=True)
    return parts / sums, float((top + np.log(sums)).sum())


def _refit(
    values: FloatArray, shares: FloatArray, sds: FloatArray, rule: MixtureRule
) -> tuple[FloatArray, FloatArray, FloatArray]:
    counts = shares.sum(axis=0) + 1e-12
    means = (shares.T @ values) / counts
    if rule.evenly_spaced and means.size > 2:
        means = _on_a_line(means, counts / sds**2)
    squares = (shares * (values[:, None] - means) ** 2).sum(axis=0)
    new_sds = np.sqrt(squares / counts)
    if rule.shared_sd:
        new_sds[:] = math.sqrt(float(squares.sum()) / values.size)
    return means, np.maximum(new_sds, rule.least_sd), counts / counts.sum()


def _on_a_line(means: FloatArray, pull: FloatArray) -> FloatArray:
    """Move the means onto the straight line that costs least likelihood, each weighing `pull`."""
    number = np.arange(means.size, dtype=np.float64)
    place = number - float(pull @ number) / float(pull.sum())
    centre = float(pull @ means) / float(pull.sum())
    slope = float((pull * place) @ means) / float((pull * place) @ place)
    out: FloatArray = centre + slope * place
    return out


def _mixture(
    n: int, means: FloatArray, sds: FloatArray, weights: FloatArray, log_likelihood: float, rule: MixtureRule
) -> Mixture:
    k = means.size
    order = np.argsort(means)
    n_means = min(k, 2) if rule.evenly_spaced else k
    return Mixture(
        means=tuple(means[order].tolist()), sds=tuple(sds[order].tolist()),
        weights=tuple(weights[order].tolist()), log_likelihood=log_likelihood, n=n,
        n_parameters=n_means + (1 if rule.shared_sd else k) + k - 1, shared_sd=rule.shared_sd,
    )  # fmt: skip


def best_mixture(values: FloatArray, k: int, rule: MixtureRule) -> Mixture:
    """Return the best fit of k groups from three starts: equal counts, equal distances, and their middle.

    Raises
    ------
    ValueError : if there are fewer values than groups, or k is below 1
    ArithmeticError : if no start settles
    """
    if not 1 <= k <= values.size:
        raise ValueError(f"{values.size} values cannot be parted into {k} groups")
    shares = (np.arange(k) + 0.5) / k
    by_count = np.quantile(values, shares)
    by_distance = values.min() + shares * (values.max() - values.min())
    starts = (by_count, by_distance, 0.5 * (by_count + by_distance))
    fits = [fit_mixture(values, start.tolist(), rule) for start in starts]
    return max(fits, key=lambda fit: fit.log_likelihood)
