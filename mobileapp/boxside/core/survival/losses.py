"""Whether the animals missing at a count are more than ordinary deaths explain."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from boxside.core.survival.tails import (
    FloatArray,
    beta_binomial_pmf,
    beta_quantile,
    binomial_pmf,
    binomial_pmf_of_log,
)
from boxside.core.values.estimates import BetaBelief

LIMITS = (
    "Deaths are spread evenly over the stage and independent; an infection or a meal of siblings is neither.",
    "A complete count is taken as right: count again before you look for a hole.",
)
_EDGE = 1e-15
_LEAST_SHAPE = 0.1
_CHUNK = 512  # bounds the memory, not the result


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
    ValueError : if a count is negative, survival, share_of_stage, threshold or level is out of range, or a
        belief has a or b below 0.1

    Notes
    -----
    Exact binomial tail for a known survival; for a Beta belief over a whole stage the beta-binomial
    tail; over part of a stage the binomial is averaged over the belief numerically, to about 1e-11.
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
    if isinstance(survival, BetaBelief) and min(survival.a, survival.b) < _LEAST_SHAPE:
        raise ValueError(f"a belief with a or b below {_LEAST_SHAPE} says next to nothing")
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

    With q = 1 / (1 + exp(-s)) the integrand is smooth and falls off at both ends, so equal steps in s
    converge very fast once they are half as wide as its narrowest bell, 2 / sqrt(n + a + b).
    """
    a, b = belief.a, belief.b
    lo, hi = math.log(beta_quantile(_EDGE, a, b)), -math.log(beta_quantile(_EDGE, b, a))
    step = min(0.5, 1.0 / math.sqrt((n + a + b) * max(1.0, share_of_stage)))
    s = np.linspace(lo, hi, math.ceil((hi - lo) / step) + 1)
    log_q, log_rest = -np.logaddexp(0.0, -s), -np.logaddexp(0.0, s)
    log_density = a * log_q + b * log_rest
    density = np.exp(log_density - log_density.max())
    out = np.zeros(n + 1)
    for i in range(0, s.size, _CHUNK):
        chunk = slice(i, i + _CHUNK)
        out += density[chunk] @ binomial_pmf_of_log(n, share_of_stage * log_q[chunk])
    return out / float(density.sum())


def _central(chances: FloatArray, level: float) -> tuple[int, int]:
    """Return the least and most that leave no more than (1 - level) / 2 outside at either end."""
    tail = (1.0 - level) / 2.0 + 1e-12
    below, above = np.cumsum(chances), np.cumsum(chances[::-1])
    least, unreached = (int(np.searchsorted(sums, tail, side="right")) for sums in (below, above))
    return least, chances.size - 1 - unreached
