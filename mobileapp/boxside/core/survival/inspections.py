"""Deaths known only between two inspections: where the estimate can put its mass, and who fits where."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from boxside.core.survival.tails import BoolArray, FloatArray


@dataclass(frozen=True, slots=True)
class Between:
    """`n` animals whose event lies in the half-open interval (after, by], in days.

    `after` is when they were last seen without it, `by` when it was found; `by` is infinite where it
    has not happened yet. after == by is an event at exactly that time.
    """

    after: float
    by: float
    n: int = 1


def unique_intervals(rows: Sequence[Between]) -> tuple[FloatArray, FloatArray]:
    """Return the distinct intervals (m, 2) of the rows and how many animals each has (m,).

    An exact time t becomes (t-, t] with t- the next smaller double, so that half-open logic holds.

    Raises
    ------
    ValueError : if no animal is left, a count is negative, or an interval ends before it starts
    """
    kept = [row for row in rows if row.n != 0]
    if not kept or any(row.n < 0 for row in kept):
        raise ValueError("an interval-censored curve needs at least one animal and no negative count")
    if any(not (-math.inf < row.after <= row.by) or row.after == math.inf for row in kept):
        raise ValueError("an interval starts on a finite day and does not end before it starts")
    pairs = np.array([(_before(row), row.by) for row in kept])
    distinct, place = np.unique(pairs, axis=0, return_inverse=True)
    weights = np.bincount(place.ravel(), weights=[row.n for row in kept])
    return distinct, weights.astype(np.float64)


def _before(row: Between) -> float:
    return math.nextafter(row.after, -math.inf) if row.after == row.by else row.after


def equivalence_classes(intervals: FloatArray) -> FloatArray:
    """Return the innermost intervals (k, 2), each (q, p]: the only places where mass can lie.

    Each starts at some animal's `after`, ends at some animal's `by`, and holds no other end. At equal
    days a `by` stands before an `after`, since (a, b] holds b and (b, c] does not.

    References
    ----------
    Peto R. 1973, Experimental survival curves for interval-censored data, Appl. Stat. 22:86-91.
    Turnbull B.W. 1976, The empirical distribution function with arbitrarily grouped, censored and
    truncated data, J. R. Stat. Soc. B 38:290-295. Both from memory.
    """
    afters, bys = np.unique(intervals[:, 0]), np.unique(intervals[:, 1])
    ends = sorted([(by, 0) for by in bys] + [(after, 1) for after in afters])
    pairs = [(left[0], right[0]) for left, right in pairwise(ends) if left[1] == 1 and right[1] == 0]
    return np.array(pairs, dtype=np.float64)


def membership(intervals: FloatArray, classes: FloatArray) -> BoolArray:
    """Return (m, k) whether class j lies wholly within interval i."""
    out: BoolArray = (intervals[:, :1] <= classes[:, 0]) & (classes[:, 1] <= intervals[:, 1:])
    return out
