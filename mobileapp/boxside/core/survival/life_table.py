"""The life table of a cohort: survival and births by age, and how fast a line grows from them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.survival.tails import FloatArray

LIMITS = (
    "Births are daughters per female, or young per animal of both sexes with everybody counted: never mix.",
    "The growth rate holds only if ages, food and season stay as they were; a colony is fed and thinned.",
)


@dataclass(frozen=True, slots=True)
class LifeTable:
    """One entry for each age; rates per unit of age.

    `alive` is the share of those born still alive at the age (lx), `dying` the share that dies before the
    next (dx), `risk` that share of those alive (qx), `births` young per animal alive (mx).
    `net_rate` R0 is young per animal born, `generation` Tc their mean age at birth of young,
    `approx_rate` ln(R0) / Tc, `rate` the exact r of Euler and Lotka, `factor` lambda = exp(r). What does
    not exist without young is None.
    """

    ages: tuple[float, ...]
    alive: tuple[float, ...]
    dying: tuple[float, ...]
    risk: tuple[float, ...]
    births: tuple[float, ...]
    net_rate: float
    generation: float | None
    approx_rate: float | None
    rate: float | None
    factor: float | None
    limits: tuple[str, ...] = LIMITS


def life_table(ages: Sequence[float], alive: Sequence[float], births: Sequence[float]) -> LifeTable:
    """Return the life table from survival and births by age.

    Parameters
    ----------
    ages : 0 or more, rising
    alive : numbers or shares alive at each age, not rising, the first above zero
    births : young per animal alive at each age, 0 or more

    Raises
    ------
    ValueError : if lengths differ, ages do not rise, survivors increase, or a number is negative

    Notes
    -----
    Births fall on the age itself. ln(R0) / Tc is only approximately r unless all young are born at one age.

    References
    ----------
    Lotka A.J. 1925, Elements of physical biology. Birch L.C. 1948, The intrinsic rate of natural
    increase of an insect population, J. Anim. Ecol. 17:15-26. Both from memory; checked against a
    teaching table.
    """
    x, l, m = (np.asarray(column, dtype=np.float64) for column in (ages, alive, births))  # noqa: E741
    _check_table(x, l, m)
    share = l / l[0]
    dying = share - np.append(share[1:], 0.0)
    risk = np.divide(dying, share, out=np.ones_like(share), where=share > 0)
    net = share * m
    r0 = float(net.sum())
    generation = float((x * net).sum()) / r0 if r0 > 0 else None
    rate = growth_rate(x, net)
    return LifeTable(
        ages=tuple(x.tolist()), alive=tuple(share.tolist()), dying=tuple(dying.tolist()),
        risk=tuple(risk.tolist()), births=tuple(m.tolist()), net_rate=r0, generation=generation,
        approx_rate=math.log(r0) / generation if generation else None,
        rate=rate, factor=None if rate is None else math.exp(rate),
    )  # fmt: skip


def _check_table(x: FloatArray, l: FloatArray, m: FloatArray) -> None:  # noqa: E741
    if not (x.size == l.size == m.size >= 1):
        raise ValueError("ages, survivors and births need one number for each age")
    if x[0] < 0 or (np.diff(x) <= 0).any():
        raise ValueError("ages start at 0 or later and rise")
    if l[0] <= 0 or (np.diff(l) > 0).any() or l[-1] < 0:
        raise ValueError("survivors start above zero and cannot increase")
    if (m < 0).any():
        raise ValueError("births cannot be negative")


def growth_rate(ages: FloatArray, net_births: FloatArray) -> float | None:
    """Return r with sum(exp(-r x) l m) = 1 (Euler-Lotka), by safeguarded Newton steps to 1e-13.

    Parameters
    ----------
    ages : (k,) at which young are born
    net_births : (k,) young per animal born, l times m, 0 or more

    Returns
    -------
    r, or None where there is no such r: no young, or none after age zero.
    """
    later = (ages > 0) & (net_births > 0)
    need = 1.0 - float(net_births[ages <= 0].sum())
    if need <= 0.0 or not later.any():
        return None
    x, net = ages[later], net_births[later] / need
    lo, hi = sorted((math.log(net.sum()) / x.min(), math.log(net.sum()) / x.max()))
    r = 0.5 * (lo + hi)
    for _ in range(200):
        terms = net * np.exp(-r * x)
        excess = float(terms.sum()) - 1.0
        lo, hi = (r, hi) if excess > 0 else (lo, r)
        step = r + excess / float((x * terms).sum())
        new = step if lo < step < hi else 0.5 * (lo + hi)
        if abs(new - r) <= 1e-15 + 1e-14 * abs(r):
            return float(new)
        r = new
    return float(r)
