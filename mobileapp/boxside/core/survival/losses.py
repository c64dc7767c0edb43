"""Whether the animals missing at a count are more than ordinary deaths explain."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from boxside.core.survival.tails import FloatArray, beta_binomial_pmf, beta_quantile, binomial_pmf
from boxside.core.values.estimates import BetaBelief

LIMITS = (
    "Deaths are spread evenly over the stage and independent; an infection or a meal of siblings is neither.",
    "A complete count is taken as right: count again before you look for a hole.",
)
_NODES = 160
_EDGE = 1e-13


class LossVerdict(StrEnum):
    """What a count says against what was expected."""

    SURPLUS = "surplus"
    EXPLAINED = "explained"
    MORE_THAN_EXPLAINED = "more than explained"


@dataclass(frozen=True, slots=True)
class LossJudgement:
    """A count held against the survival of its stage.

    `n_lost` is expected minus counted (negative: more were found than there should be); `p_value` is the
    chance of losing at least so many; `least` and `most` bound the survivors in `level` of such boxes;
    `n_expected_alive` is their mean. `verdict` follows from p below `threshold`.
    """

    n_expected: int
    n_counted: int
    n_lost: int
    p_value: float
    n_expected_alive: float
    least: int
    most: int
    level: float
    threshold: float
    verdict: LossVerdict
    limits: tuple[str, ...] = LIMITS

    @property
    def more_than_survival_explains(self) -> bool:
        """Whether to look for an escape or a mistake in the records."""
        return self.verdict is LossVerdict.MORE_THAN_EXPLAINED


def judge_loss(
    n_expected: int, n_counted: int, survival: BetaBelief | float, share_of_stage: float = 1.0,
    threshold: float = 0.01, level: float = 0.95,
) -> LossJudgement:  # fmt: skip
    """Return whether the animals missing at a complete count are more than survival explains.

    Parameters
    ----------
    n_expected : animals that should be there if none died since the last complete count
    n_counted : animals counted
    survival : share that survives the whole stage, known exactly or as a belief with its doubt
    share_of_stage : days since the last count over the days of the stage, above zero; over that part a
        share survival ** share_of_stage lives on
    threshold : a p below this is more than explained; 0.01 is common practice, no source
    level : how much of what may happen the expected range covers

    Raises
    ------
    ValueError : if a count is negative, or survival, share_of_stage, threshold or level is out of range

    Notes
    -----
    Exact binomial tail for a known survival; for a Beta belief over a whole stage the beta-binomial
    tail; over part of a stage the binomial is averaged over the belief by Gauss-Legendre quadrature.
    Found dead ones are known: leave them out of n_expected.
    """
    _check(n_expected, n_counted, survival, share_of_stage)
    if not (0.0 < threshold < 1.0 and 0.0 < level < 1.0):
        raise ValueError("threshold and level lie between 0 and 1")
    alive = _survivor_chances(n_expected, survival, share_of_stage)
    p_value = 1.0 if n_counted >= n_expected else min(1.0, float(alive[: n_counted + 1].sum()))
    least, most = _central(alive, level)
    return LossJudgement(
        n_expected=n_expected, n_counted=n_counted, n_lost=n_expected - n_counted, p_value=p_value,
        n_expected_alive=float(alive @ np.arange(n_expected + 1)), least=least, most=most, level=level,
        threshold=threshold, verdict=_verdict(n_expected - n_counted, p_value, threshold),
    )  # fmt: skip


def _check(n_expected: int, n_counted: int, survival: BetaBelief | float, share_of_stage: float) -> None:
    if n_expected < 0 or n_counted < 0:
        raise ValueError("counts cannot be negative")
    if not isinstance(survival, BetaBelief) and not 0.0 <= survival <= 1.0:
        raise ValueError(f"survival is a share from 0 to 1, got {survival}")
    if not (0.0 < share_of_stage < math.inf):
        raise ValueError(f"share_of_stage must be above zero, got {share_of_stage}")


def _verdict(n_lost: int, p_value: float, threshold: float) -> LossVerdict:
    if n_lost < 0:
        return LossVerdict.SURPLUS
    return LossVerdict.MORE_THAN_EXPLAINED if p_value < threshold else LossVerdict.EXPLAINED


def _survivor_chances(n: int, survival: BetaBelief | float, share_of_stage: float) -> FloatArray:
    if not isinstance(survival, BetaBelief):
        return binomial_pmf(n, survival**share_of_stage)
    if share_of_stage == 1.0:
        return beta_binomial_pmf(n, survival.a, survival.b)
    return _averaged(n, survival, share_of_stage)


def _averaged(n: int, belief: BetaBelief, share_of_stage: float) -> FloatArray:
    """Average the binomial over p = q ** share_of_stage with q from the belief.

    With q = sin(t)^2 the density loses its poles at 0 and 1 for a, b >= 1/2, so few nodes suffice.
    """
    lo, hi = (
        math.asin(math.sqrt(beta_quantile(edge, belief.a, belief.b))) for edge in (_EDGE, 1.0 - _EDGE)
    )
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    angle = lo + (hi - lo) * (nodes + 1.0) / 2.0
    log_density = (2 * belief.a - 1) * np.log(np.sin(angle)) + (2 * belief.b - 1) * np.log(np.cos(angle))
    density = weights * np.exp(log_density - log_density.max())
    chances = np.stack([binomial_pmf(n, float(q) ** share_of_stage) for q in np.sin(angle) ** 2])
    out: FloatArray = (density / density.sum()) @ chances
    return out


def _central(chances: FloatArray, level: float) -> tuple[int, int]:
    """Return the least and most that leave no more than (1 - level) / 2 outside at either end."""
    tail = (1.0 - level) / 2.0 + 1e-12
    below, above = np.cumsum(chances), np.cumsum(chances[::-1])
    return int(np.searchsorted(below, tail, side="right")), int(chances.size - 1 - np.searchsorted(above, tail, side="right"))
