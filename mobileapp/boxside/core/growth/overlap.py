"""Where to cut between two neighbouring size groups, and how many fall on the wrong side."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Group:
    """One size group as a normal law: mean, standard deviation and share; on any scale."""

    mean: float
    sd: float
    weight: float = 0.5


@dataclass(frozen=True, slots=True)
class Cut:
    """Where two groups are equally likely, and what cutting there gets wrong.

    `smaller_taken_for_larger` and `larger_taken_for_smaller` are shares of the group in question.
    """

    at: float
    smaller_taken_for_larger: float
    larger_taken_for_smaller: float


def normal_below(x: float, mean: float, sd: float) -> float:
    """Return the share of a normal law below x."""
    return 0.5 * math.erfc((mean - x) / (sd * math.sqrt(2.0)))


def cut_between(smaller: Group, larger: Group) -> Cut | None:
    """Return the cut between two groups; None where neither point of equal likelihood lies between the means.

    Raises
    ------
    ValueError : if a standard deviation or weight is not above zero, or the means are not in order

    Notes
    -----
    Solves w1 N(x; m1, s1) = w2 N(x; m2, s2). For means of very unlike weights or spreads there may be no
    such point between them: then one group covers the other and size cannot part them.

    References
    ----------
    Logan J.A., Bentz B.J., Vandygriff J.C., Turner D.L. 1998, General program for determining instar
    distributions from headcapsule widths, Environ. Entomol. 27:555-563 (optimum separation rule).
    """
    if min(smaller.sd, larger.sd, smaller.weight, larger.weight) <= 0 or smaller.mean >= larger.mean:
        raise ValueError("groups need a spread and a share above zero, and the smaller one first")
    roots = [x for x in _equal_points(smaller, larger) if smaller.mean <= x <= larger.mean]
    if not roots:
        return None
    at = roots[0]
    return Cut(
        at=at, smaller_taken_for_larger=1.0 - normal_below(at, smaller.mean, smaller.sd),
        larger_taken_for_smaller=normal_below(at, larger.mean, larger.sd),
    )  # fmt: skip


def _equal_points(one: Group, two: Group) -> tuple[float, ...]:
    """Return the zeros of the difference of log densities, a quadratic in x, without cancellation."""
    p, q = 1.0 / one.sd**2, 1.0 / two.sd**2
    a = 0.5 * (q - p)
    b = one.mean * p - two.mean * q
    c = 0.5 * (two.mean**2 * q - one.mean**2 * p) + math.log(one.weight * two.sd / (two.weight * one.sd))
    if abs(a) < 1e-12 * (p + q):
        return (-c / b,)
    square = b * b - 4.0 * a * c
    if square < 0.0:
        return ()
    half = -0.5 * (b + math.copysign(math.sqrt(square), b))
    return tuple(sorted((half / a, c / half))) if half != 0.0 else (0.0,)
