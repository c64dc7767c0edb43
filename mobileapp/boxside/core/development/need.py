"""What a stage needs before it is over, as a distribution that the colony's own records sharpen.

The need is counted in days, or in effective degree-days above a threshold that is itself uncertain.
Its logarithm is normal among clutches; mean and variance have a conjugate prior (normal and inverse
gamma), and the threshold a grid of values, each with its own conjugate update and weight.

References
----------
Gelman A., Carlin J.B., Stern H.S., Dunson D.B., Vehtari A., Rubin D.B. 2013, Bayesian Data Analysis, 3rd
ed., section 3.3 (normal data with a conjugate prior).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from boxside.core.development.rate_curve import RateCurve, curve_of
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand, DayTemperature, PastInterval, ThermalNeed

Floats = NDArray[np.float64]

# A profile's figure counts like four clutches seen, its spread like eight degrees of freedom
# (common practice, no source): a season of own records outweighs it, a single clutch does not.
PRIOR_CLUTCHES = 4.0
PRIOR_SHAPE = 4.0
# 90 % point of Student's t with 8 degrees of freedom.
_T90 = 1.3968153097
# A band narrower than +-10 % is read as that wide: published means hide their spread.
_LEAST_HALF_LOG = math.log(1.1)
_N_NODES = 31


@dataclass(frozen=True, slots=True)
class Need:
    """The need of a stage: per threshold node a weight and a normal-inverse-gamma law of its logarithm.

    `t0_c` (m,) thresholds in degrees C, one meaningless node where days are counted; `weight` (m,) adds up
    to 1; `mean` (m,) of the log need, known like `clutches` values; `shape` and `scale` (m,) of the variance.
    `curve` is None where days are counted. `n_seen` own intervals went in, `n_left_out` had no temperatures.
    """

    curve: RateCurve | None
    t0_c: Floats
    weight: Floats
    mean: Floats
    clutches: float
    shape: float
    scale: Floats
    n_seen: int = 0
    n_left_out: int = 0

    def draw(self, n: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Return `n` draws of (threshold in degrees C, need in days or degree-days), each (n,)."""
        node = rng.choice(self.t0_c.size, size=n, p=self.weight)
        spread = np.sqrt(self.scale[node] / rng.gamma(self.shape, size=n))
        centre = self.mean[node] + spread / math.sqrt(self.clutches) * rng.standard_normal(n)
        return self.t0_c[node], np.exp(centre + spread * rng.standard_normal(n))


def prior_need(known: DaysBand | ThermalNeed) -> Need:
    """Return the need that a profile alone speaks for.

    Raises
    ------
    EntryError : a band that is empty or not positive, a threshold below 0 C, a constant not above 0

    Notes
    -----
    A band's ends are read as the 10 and 90 % points for a new clutch. A band narrower than 10 % either way is
    widened to that.
    """
    if isinstance(known, DaysBand):
        return _from_band(known)
    return _from_sum(known)


def learned_need(
    known: DaysBand | ThermalNeed,
    seen: Sequence[PastInterval],
    days: Sequence[DayTemperature] = (),
) -> Need:
    """Return the profile's need, updated by intervals that the keeper has seen.

    Parameters
    ----------
    known : what the profile says
    seen : intervals of this stage from the same species and keeping
    days : temperatures without a gap, oldest first; needed for a temperature sum

    Raises
    ------
    EntryError : as `prior_need`, or an interval that ends before it begins

    Notes
    -----
    Intervals outside the temperatures are left out and counted. The end lies in the middle of the gap in
    which it was noticed. Intervals are taken as independent clutches: one per clutch, not per animal.
    """
    prior = prior_need(known)
    if any(interval.days <= 0 for interval in seen):
        raise EntryError("A stage ends on the day it began or before. Nothing was learned. Correct it.")
    sums = [_amount(interval, prior, days) for interval in seen]
    used = [amount for amount in sums if amount is not None]
    if not used:
        return replace(prior, n_left_out=len(sums))
    updated = _updated(prior, np.log(np.vstack(used)))
    return replace(updated, n_seen=len(used), n_left_out=len(sums) - len(used))


def _from_band(band: DaysBand) -> Need:
    if not 0 < band.low_days <= band.high_days:
        raise EntryError(f"A stage of {band.low_days:g} to {band.high_days:g} days is no range. Correct the profile.")
    low, high = math.log(band.low_days), math.log(band.high_days)
    half = max((high - low) / 2, _LEAST_HALF_LOG)
    variance = (half / _T90) ** 2 / (1 + 1 / PRIOR_CLUTCHES)
    one = np.ones(1)
    return Need(None, 0 * one, one, (low + high) / 2 * one, PRIOR_CLUTCHES, PRIOR_SHAPE, PRIOR_SHAPE * variance * one)


def _from_sum(known: ThermalNeed) -> Need:
    if known.t0_c < 0 or known.k_dd <= 0 or known.spread_frac <= 0:
        raise EntryError(
            "A temperature sum needs a threshold of 0 C or more, and a constant and a spread above 0."
            " Correct the profile, or use a range of days."
        )
    step = np.linspace(-3, 3, _N_NODES) if known.t0_sd_c > 0 else np.zeros(1)
    step = step[known.t0_c + step * known.t0_sd_c >= 0]
    weight = np.exp(-(step**2) / 2)
    relative = known.k_sd_dd / known.k_dd
    rest = relative * math.sqrt(max(1 - known.correlation**2, 0.0))
    # The mean is known like so many clutches that its standard error is the constant's.
    clutches = min((known.spread_frac / rest) ** 2, 1e6) if rest > 0 else 1e6
    return Need(
        curve_of(known),
        known.t0_c + step * known.t0_sd_c,
        weight / weight.sum(),
        math.log(known.k_dd) + known.correlation * relative * step,
        clutches,
        PRIOR_SHAPE,
        np.full(step.size, PRIOR_SHAPE * known.spread_frac**2),
    )


def _amount(interval: PastInterval, prior: Need, days: Sequence[DayTemperature]) -> Floats | None:
    """(m,) what an interval came to at each threshold node; None where its temperatures are unknown."""
    if prior.curve is None:
        return np.array([interval.days])
    if not days or interval.began_on < days[0].on or interval.ended_on > days[-1].on + timedelta(days=1):
        return None
    first = (interval.began_on - days[0].on).days
    taken = days[first : first + (interval.ended_on - interval.began_on).days]
    low = np.array([day.min_c for day in taken])
    high = np.array([day.max_c for day in taken])
    effect = prior.curve.effect_dd(low, high, prior.t0_c[:, np.newaxis])
    # The last day or days, in which it may have ended any time, count half.
    effect[:, len(taken) - interval.gap_days :] /= 2
    return np.asarray(np.maximum(effect.sum(axis=1), 1e-6))


def _updated(prior: Need, logs: Floats) -> Need:
    """Conjugate update per node; `logs` (n, m) are log amounts of n intervals at m nodes."""
    n, mean = logs.shape[0], logs.mean(axis=0)
    clutches, shape = prior.clutches + n, prior.shape + n / 2
    within = np.sum((logs - mean) ** 2, axis=0) / 2
    apart = prior.clutches * n * (mean - prior.mean) ** 2 / (2 * clutches)
    scale = prior.scale + within + apart
    # Evidence for a threshold, up to a constant. Turning log amounts back into days divides by the days
    # alone where the end was about as warm as the whole, so that factor is the same at every node.
    evidence = np.log(prior.weight) + prior.shape * np.log(prior.scale) - shape * np.log(scale)
    weight = np.exp(evidence - evidence.max())
    centre = (prior.clutches * prior.mean + n * mean) / clutches
    return replace(prior, weight=weight / weight.sum(), mean=centre, clutches=clutches, shape=shape, scale=scale)
