"""The survival curve of animals inspected at intervals: the nonparametric maximum likelihood estimate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.survival.inspections import Between, equivalence_classes, membership, unique_intervals
from boxside.core.survival.least_squares import nonnegative_solution
from boxside.core.survival.tails import FloatArray
from boxside.core.values.estimates import FEW_DEATHS

LIMITS = (
    "Within each interval the data do not say where deaths fell: the curve has gaps there, not steps.",
    "Inspections must not depend on how the animals fare; an inspection because they look ill is not such.",
)
_MOST_STEPS = 500


@dataclass(frozen=True, slots=True)
class IntervalCurve:
    """Masses on the intervals (after[j], by[j]] where events can lie, in order; they add up to one.

    `gap` bounds how far `log_likelihood` can lie below the true maximum; `n_events` counts animals whose
    event is known to have happened.
    """

    after: tuple[float, ...]
    by: tuple[float, ...]
    mass: tuple[float, ...]
    log_likelihood: float
    gap: float
    n: int
    n_events: int
    limits: tuple[str, ...] = LIMITS

    @property
    def show_counts_not_curve(self) -> bool:
        """Whether there are too few events to draw a curve from (common practice, no source)."""
        return self.n_events < FEW_DEATHS

    def bounds_at(self, day: float) -> tuple[float, float]:
        """Return the least and greatest share without the event just after `day` that fit alike."""
        low = math.fsum(m for m, after in zip(self.mass, self.after, strict=True) if after >= day)
        high = math.fsum(m for m, by in zip(self.mass, self.by, strict=True) if by > day)
        return min(low, 1.0), min(high, 1.0)


@dataclass(frozen=True, slots=True)
class QuantileRange:
    """The interval (after, by] in which a share of animals is reached; `day` is read off a straight line.

    `day` is None where `by` is infinite: the share is not reached while anything was seen.
    """

    share: float
    after: float
    by: float
    day: float | None


def interval_curve(rows: Sequence[Between], tolerance: float = 1e-9) -> IntervalCurve:
    """Return the nonparametric maximum likelihood estimate (Turnbull's) from half-open intervals.

    Parameters
    ----------
    rows : intervals (after, by] with counts; by may be infinite
    tolerance : the search ends once no mass can raise the log-likelihood by more than this per animal

    Raises
    ------
    ValueError : if the rows hold no animal or an impossible interval
    ArithmeticError : if the tolerance is not reached

    Notes
    -----
    Intervals are (after, by]: an animal found dead on an inspection died after the one before and by
    this one. Programs that take them as closed give other masses. Right- and interval-censored only:
    animals must be watched from their own day zero.

    The end condition is that of Karush, Kuhn and Tucker: with d[j] the derivative for mass j, no d[j]
    exceeds n. As the log-likelihood is concave, max d - n bounds what is still to be gained (`gap`).
    For intervals on a line there is one best set of masses: from the end of any class another interval
    starts, so the classes are linearly independent; only where a mass lies within its class is open.

    References
    ----------
    Turnbull B.W. 1976, J. R. Stat. Soc. B 38:290-295. Wang Y. 2007, On fast computation of the
    non-parametric maximum likelihood estimate of a mixing distribution, J. R. Stat. Soc. B 69:185-198
    (constrained Newton steps). Both from memory; checked on Finkelstein & Wolfe 1985.
    """
    intervals, weights = unique_intervals(rows)
    classes = equivalence_classes(intervals)
    fits = membership(intervals, classes).astype(np.float64)
    mass, gap = _maximise(fits, weights, tolerance)
    inside = fits @ mass
    return IntervalCurve(
        after=tuple(classes[:, 0].tolist()), by=tuple(classes[:, 1].tolist()), mass=tuple(mass.tolist()),
        log_likelihood=float(weights @ np.log(inside)), gap=gap, n=int(weights.sum()),
        n_events=int(weights[np.isfinite(intervals[:, 1])].sum()),
    )  # fmt: skip


def _maximise(fits: FloatArray, weights: FloatArray, tolerance: float) -> tuple[FloatArray, float]:
    total = float(weights.sum())
    mass = np.full(fits.shape[1], 1.0 / fits.shape[1])
    gap = math.inf
    for _ in range(_MOST_STEPS):
        mass = _em_step(fits, weights, mass)
        gap = float((fits.T @ (weights / (fits @ mass))).max()) - total
        if gap <= tolerance * total:
            return mass, max(gap, 0.0)
        mass = _newton_step(fits, weights, mass)
    raise ArithmeticError(f"masses did not settle: {gap:.3g} of log-likelihood may be missing")


def _em_step(fits: FloatArray, weights: FloatArray, mass: FloatArray) -> FloatArray:
    """Self-consistency: each animal is shared out among the classes it fits; never lowers the likelihood."""
    out: FloatArray = mass * (fits.T @ (weights / (fits @ mass))) / weights.sum()
    out /= out.sum()
    return out


def _newton_step(fits: FloatArray, weights: FloatArray, mass: FloatArray) -> FloatArray:
    """Minimise the quadratic model over masses >= 0 that add up to 1, then go there as far as it gains.

    The model is |S p - 2|^2 with S = sqrt(w) fits / (fits mass). As 1'p = 1, S p - 2 = (S - 2 1')p = P p;
    min |P p|^2 + (1'p - 1)^2 over p >= 0, scaled to sum 1, solves it (Dax 1990, from memory).
    """
    root = np.sqrt(weights)[:, None]
    model = root * (fits / (fits @ mass)[:, None] - 2.0)
    gram = model.T @ model + 1.0
    goal = nonnegative_solution(gram, np.ones(mass.size))
    if goal.sum() <= 0.0:
        return mass
    return _line_search(fits, weights, mass, goal / goal.sum())


def _line_search(fits: FloatArray, weights: FloatArray, mass: FloatArray, goal: FloatArray) -> FloatArray:
    start = float(weights @ np.log(fits @ mass))
    slope = float(weights @ ((fits @ (goal - mass)) / (fits @ mass)))
    step = 1.0
    while step > 1e-12:
        trial: FloatArray = mass + step * (goal - mass)
        inside = fits @ trial
        if inside.min() > 0.0 and float(weights @ np.log(inside)) >= start + step * slope / 3.0:
            return trial
        step /= 2.0
    return mass


def interval_quantile(curve: IntervalCurve, share: float = 0.5) -> QuantileRange:
    """Return where `share` of the animals have had the event, 0 < share < 1.

    Raises
    ------
    ValueError : unless 0 < share < 1

    Notes
    -----
    The day within the interval assumes that events are spread evenly over it (common practice, no
    source); only the interval itself is what the data say.
    """
    if not 0.0 < share < 1.0:
        raise ValueError(f"a share lies between 0 and 1, got {share}")
    done = 0.0
    rows = [row for row in zip(curve.after, curve.by, curve.mass, strict=True) if row[2] > 1e-12]
    for after, by, mass in rows:
        if done + mass >= share - 1e-9 or (after, by, mass) == rows[-1]:
            day = None if math.isinf(by) else after + (by - after) * min((share - done) / mass, 1.0)
            return QuantileRange(share, after, by, day)
        done += mass
    raise ArithmeticError("masses do not add up to one")
