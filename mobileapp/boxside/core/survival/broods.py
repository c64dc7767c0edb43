"""Life tables of animals followed one by one, and the doubt of the growth rates that come of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.survival.bootstrap import percentile_interval
from boxside.core.survival.life_table import LIMITS as TABLE_LIMITS
from boxside.core.survival.life_table import LifeTable, growth_rate, life_table
from boxside.core.survival.tails import FloatArray
from boxside.core.values.estimates import Estimate

LIMITS = (
    *TABLE_LIMITS,
    "Draws in which no young were born have no growth rate; they count as minus infinity.",
)


@dataclass(frozen=True, slots=True)
class Brood:
    """One animal followed from birth: the age at which it died, and its young as (age, number) pairs."""

    died_at: float
    young: tuple[tuple[float, float], ...] = ()


def table_of_broods(broods: Sequence[Brood], ages: Sequence[float]) -> LifeTable:
    """Return the life table of animals followed one by one.

    Parameters
    ----------
    broods : animals, each followed until it died
    ages : start of each age class, rising from 0; an animal is alive at an age that it has reached
        (died_at >= age), and its young are booked to the age class they were born in

    Raises
    ------
    ValueError : if there is no animal, ages do not rise from 0, or young come after a death or before age 0

    Notes
    -----
    Booking young to the start of their class makes them come early and r too high: use narrow classes,
    such as days.
    """
    alive, young = _brood_arrays(broods, ages)
    return _table(np.asarray(ages, dtype=np.float64), alive.sum(axis=0), young.sum(axis=0))


def _brood_arrays(broods: Sequence[Brood], ages: Sequence[float]) -> tuple[FloatArray, FloatArray]:
    edges = np.asarray(ages, dtype=np.float64)
    if not broods or edges.size == 0 or edges[0] != 0 or (np.diff(edges) <= 0).any():
        raise ValueError("a life table needs an animal, and ages that rise from 0")
    alive = np.array([[float(brood.died_at >= age) for age in edges] for brood in broods])
    young = np.zeros_like(alive)
    for row, brood in zip(young, broods, strict=True):
        for age, number in brood.young:
            if not 0 <= age <= brood.died_at or number < 0:
                raise ValueError("young are born between age 0 and death, and cannot be fewer than none")
            row[int(np.searchsorted(edges, age, side="right")) - 1] += number
    return alive, young


def _table(ages: FloatArray, alive: FloatArray, young: FloatArray) -> LifeTable:
    births = np.divide(young, alive, out=np.zeros_like(young), where=alive > 0)
    return life_table(ages.tolist(), alive.tolist(), births.tolist())


@dataclass(frozen=True, slots=True)
class GrowthEstimates:
    """R0, generation time, exact r and lambda of a cohort, each with its bootstrap interval.

    `n_barren` counts draws without any young; `generation` is None if there are any, for then its
    interval does not exist.
    """

    net_rate: Estimate
    generation: Estimate | None
    rate: Estimate
    factor: Estimate
    n_barren: int


def bootstrap_growth(
    broods: Sequence[Brood], ages: Sequence[float], rng: np.random.Generator, n_draws: int = 500,
    level: float = 0.95,
) -> GrowthEstimates:  # fmt: skip
    """Return the rates of a cohort with intervals from drawing its animals again.

    Raises
    ------
    ValueError : if a life table cannot be made of the animals, or none of them had young

    References
    ----------
    Meyer J.S., Ingersoll C.G., McDonald L.L., Boyce M.S. 1986, Estimating uncertainty in population
    growth rates: jackknife vs. bootstrap techniques, Ecology 67:1156-1166 (from memory).
    """
    alive, young = _brood_arrays(broods, ages)
    edges = np.asarray(ages, dtype=np.float64)
    whole = _table(edges, alive.sum(axis=0), young.sum(axis=0))
    if whole.rate is None or whole.factor is None or whole.generation is None:
        raise ValueError("no growth rate: no young after age 0, or one for each animal in the first class")
    n = len(broods)
    weights = rng.multinomial(n, np.full(n, 1.0 / n), size=n_draws).astype(np.float64)
    net = weights @ young / n
    r0 = net.sum(axis=1)
    rates = [growth_rate(edges, row) for row in net]
    finite = np.array([-math.inf if rate is None else rate for rate in rates])
    tc = [float(row @ edges) / float(total) for row, total in zip(net, r0, strict=True) if total > 0]

    def estimate(value: float, drawn: Sequence[float]) -> Estimate:
        return Estimate(value, percentile_interval(drawn, level), n, LIMITS)

    return GrowthEstimates(
        net_rate=estimate(whole.net_rate, r0.tolist()),
        generation=estimate(whole.generation, tc) if len(tc) == n_draws else None,
        rate=estimate(whole.rate, finite.tolist()), factor=estimate(whole.factor, np.exp(finite).tolist()),
        n_barren=sum(rate is None for rate in rates),
    )  # fmt: skip
