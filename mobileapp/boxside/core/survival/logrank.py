"""Whether groups of animals die at different rates: the log-rank test and Gehan's variant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from boxside.core.survival.curve import Life, columns_of, risk_table
from boxside.core.survival.tails import FloatArray, chi2_sf
from boxside.core.values.estimates import FEW_DEATHS

LIMITS = (
    "Sees differences that keep one direction; curves that cross can hide from it.",
    "Boxes differ in more than what is compared: a small p does not say why.",
)


class Weighting(StrEnum):
    """What a death day counts: all days alike, or days with many at risk more (Gehan-Wilcoxon)."""

    LOG_RANK = "log-rank"
    GEHAN = "gehan"


@dataclass(frozen=True, slots=True)
class GroupTest:
    """Result of comparing groups: chi-square with its degrees of freedom and p.

    `observed` and `expected` are deaths per group in the order given (expected if all died alike), not
    weighted; `variance` is that of observed minus expected of each group, weighted as the test is.
    """

    chi2: float
    df: int
    p_value: float
    observed: tuple[float, ...]
    expected: tuple[float, ...]
    variance: tuple[float, ...]
    n_events: int
    limits: tuple[str, ...] = LIMITS

    @property
    def show_counts_not_curve(self) -> bool:
        """Whether there are too few deaths to trust the chi-square tail (common practice, no source)."""
        return self.n_events < FEW_DEATHS


def group_test(groups: Sequence[Sequence[Life]], weighting: Weighting = Weighting.LOG_RANK) -> GroupTest:
    """Return the log-rank comparison of two or more groups.

    Parameters
    ----------
    groups : histories of each group; counts and late entries as in `survival_curve`
    weighting : all death days alike, or by the number at risk

    Raises
    ------
    ValueError : with fewer than two groups, an empty group, or no death at all

    Notes
    -----
    The chi-square tail is an approximation that needs some ten deaths; animals of one clutch or box are
    not independent, which makes p too small.

    References
    ----------
    Mantel N. 1966, Evaluation of survival data and two new rank order statistics arising in its
    consideration, Cancer Chemother. Rep. 50:163-170. Gehan E.A. 1965, Biometrika 52:203-223. Both from
    memory; checked against Freireich et al. 1963.
    """
    if len(groups) < 2:
        raise ValueError("a comparison needs at least two groups")
    parts = [columns_of(group) for group in groups]
    days = np.unique(np.concatenate([left[died & (n > 0)] for _, left, died, n in parts]))
    if days.size == 0:
        raise ValueError("no animal died: there is nothing to compare")
    tables = [risk_table(*part, days) for part in parts]
    at_risk = np.stack([table[0] for table in tables])
    deaths = np.stack([table[1] for table in tables])
    weights = at_risk.sum(axis=0) if weighting is Weighting.GEHAN else np.ones(days.size)
    observed, expected, covariance = _moments(at_risk, deaths, weights)
    gap = (observed - expected)[:-1]
    chi2 = float(gap @ np.linalg.pinv(covariance[:-1, :-1], hermitian=True) @ gap)
    df = int(np.linalg.matrix_rank(covariance, hermitian=True))
    plain = (at_risk * (deaths.sum(axis=0) / at_risk.sum(axis=0))).sum(axis=1)
    return GroupTest(
        chi2=chi2, df=df, p_value=chi2_sf(chi2, df) if df else 1.0, n_events=int(deaths.sum()),
        observed=tuple(deaths.sum(axis=1).tolist()), expected=tuple(plain.tolist()),
        variance=tuple(np.diag(covariance).tolist()),
    )  # fmt: skip


def _moments(at_risk: FloatArray, deaths: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return weighted observed and expected deaths (g,) and the hypergeometric covariance (g, g)."""
    total, died = at_risk.sum(axis=0), deaths.sum(axis=0)
    share = at_risk / total
    spare = np.divide(total - died, total - 1.0, out=np.zeros_like(total), where=total > 1.0)
    scale = weights**2 * died * spare
    covariance = np.diag((share * scale).sum(axis=1)) - np.einsum("gt,ht,t->gh", share, share, scale)
    return (deaths * weights).sum(axis=1), (share * died * weights).sum(axis=1), covariance
