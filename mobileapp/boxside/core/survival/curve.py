"""The product-limit survival curve, with its standard error, band and quantiles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from boxside.core.survival.tails import BoolArray, FloatArray, two_sided_z
from boxside.core.values.estimates import FEW_DEATHS, Interval

LIMITS = (
    "A death counts on the day it was found: later than it happened, by up to one inspection interval.",
    "Animals that leave (escaped, given away) are assumed to live on like those that stay.",
)
FEW_LIMIT = f"Fewer than {FEW_DEATHS} deaths: read the counts, not the curve (common practice, no source)."
_AT = 1e-9


class Band(StrEnum):
    """How the interval around a curve is made."""

    LOG_LOG = "log-log"
    PLAIN = "plain"


@dataclass(frozen=True, slots=True)
class Life:
    """`n` animals with one history: seen from `entered` on, until they died or left at `left`.

    Both in days on one scale, entered < left. `died` False means last seen alive then.
    """

    left: float
    died: bool
    n: int = 1
    entered: float = 0.0


@dataclass(frozen=True, slots=True)
class SurvivalCurve:
    """A product-limit curve: one entry for each day on which animals died.

    `survival` holds from that day on; `std_error` is Greenwood's; `low` and `high` bound the share at
    `level`. Where nobody is left, standard error and band are NaN: no formula gives them there.
    `censored_days` are the days on which animals left alive; `last_day` is how far anything was seen.
    """

    days: tuple[float, ...]
    n_at_risk: tuple[int, ...]
    n_died: tuple[int, ...]
    survival: tuple[float, ...]
    std_error: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    level: float
    band: Band
    n: int
    n_events: int
    censored_days: tuple[float, ...]
    last_day: float
    limits: tuple[str, ...] = LIMITS

    @property
    def show_counts_not_curve(self) -> bool:
        """Whether there are too few deaths to draw a curve from (common practice, no source)."""
        return self.n_events < FEW_DEATHS

    def at(self, day: float) -> float:
        """Return the share alive just after `day`."""
        return next((s for d, s in zip(self.days[::-1], self.survival[::-1], strict=True) if d <= day), 1.0)


def survival_curve(lives: Sequence[Life], level: float = 0.95, band: Band = Band.LOG_LOG) -> SurvivalCurve:
    """Return the product-limit (Kaplan-Meier) curve of animals that may enter late and leave alive.

    Parameters
    ----------
    lives : histories, each standing for n animals
    level : confidence of the band, between 0 and 1
    band : log(-log) transformed, which stays between 0 and 1, or plain

    Raises
    ------
    ValueError : if there is no animal, a count is negative, or one does not enter before it leaves

    Notes
    -----
    At risk on a day are those with entered < day <= left: one that dies and one that leaves on the same
    day are both at risk on it. With late entries the first risk sets may be so small that the curve
    drops to 0 early and stays there. Right-censored only: for deaths known between two inspections use
    `interval_curve`.

    References
    ----------
    Kaplan E.L., Meier P. 1958, Nonparametric estimation from incomplete observations, J. Am. Stat.
    Assoc. 53:457-481. Greenwood M. 1926, The natural duration of cancer. Kalbfleisch J.D., Prentice
    R.L. 1980, The statistical analysis of failure time data (log-log band). All from memory; values are
    checked against Freireich et al. 1963.
    """
    entered, left, died, n = columns_of(lives)
    days = np.unique(left[died & (n > 0)])
    at_risk, deaths = risk_table(entered, left, died, n, days)
    share: FloatArray = np.multiply.accumulate(1.0 - deaths / at_risk)
    share[np.cumsum(at_risk == deaths) > 0] = 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        log_variance = np.cumsum(deaths / (at_risk * (at_risk - deaths)))
        error: FloatArray = np.where(share > 0, share * np.sqrt(log_variance), np.nan)
    low, high = _band_around(share, error, two_sided_z(level), band)
    n_events = int(deaths.sum())
    return SurvivalCurve(
        days=tuple(days.tolist()), n_at_risk=tuple(at_risk.astype(int).tolist()),
        n_died=tuple(deaths.astype(int).tolist()), survival=tuple(share.tolist()),
        std_error=tuple(error.tolist()), low=tuple(low.tolist()), high=tuple(high.tolist()), level=level,
        band=band, n=int(n.sum()), n_events=n_events, last_day=float(left[n > 0].max()),
        censored_days=tuple(np.unique(left[~died & (n > 0)]).tolist()),
        limits=LIMITS + ((FEW_LIMIT,) if n_events < FEW_DEATHS else ()),
    )  # fmt: skip


def columns_of(lives: Sequence[Life]) -> tuple[FloatArray, FloatArray, BoolArray, FloatArray]:
    """Return entered, left, died and n of the histories as arrays (m,), checked.

    Raises
    ------
    ValueError : if there is no animal, a count is negative, or one does not enter before it leaves
    """
    entered = np.array([life.entered for life in lives], dtype=np.float64)
    left = np.array([life.left for life in lives], dtype=np.float64)
    n = np.array([life.n for life in lives], dtype=np.float64)
    if (n < 0).any() or n.sum() < 1:
        raise ValueError("a survival curve needs at least one animal and no negative count")
    if not (np.isfinite(left).all() and (entered < left).all()):
        raise ValueError("each animal must enter before it leaves, on days that are finite")
    return entered, left, np.array([life.died for life in lives], dtype=np.bool_), n


def risk_table(
    entered: FloatArray, left: FloatArray, died: BoolArray, n: FloatArray, days: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return how many were at risk and how many died on each of the sorted `days`, both (d,)."""

    def total_before(values: FloatArray, weights: FloatArray) -> FloatArray:
        order = np.argsort(values, kind="stable")
        sums = np.concatenate([[0.0], np.cumsum(weights[order])])
        out: FloatArray = sums[np.searchsorted(values[order], days, side="left")]
        return out

    at_risk = total_before(entered, n) - total_before(left, n)
    deaths = np.zeros(days.size)
    inside = died & np.isin(left, days)
    np.add.at(deaths, np.searchsorted(days, left[inside]), n[inside])
    return at_risk, deaths


def _band_around(share: FloatArray, error: FloatArray, z: float, band: Band) -> tuple[FloatArray, FloatArray]:
    if band is Band.PLAIN:
        return np.clip(share - z * error, 0.0, 1.0), np.clip(share + z * error, 0.0, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        log_share = np.log(share)
        reach = np.exp(z * error / share / np.abs(log_share))
        low, high = share**reach, share ** (1.0 / reach)
    return low, high


def quantile_day(curve: SurvivalCurve, share: float = 0.5) -> float | None:
    """Return the first day on which the share alive is down to `share`; None if it never is."""
    return _first_at_most(curve.days, curve.survival, share)


def quantile_interval(curve: SurvivalCurve, share: float = 0.5) -> Interval:
    """Return the interval for the day on which the share alive is down to `share`.

    Notes
    -----
    The days at which the band holds `share`; the upper end is infinite where the band never falls below
    it, as it is with few animals.

    References
    ----------
    Brookmeyer R., Crowley J. 1982, A confidence interval for the median survival time, Biometrics
    38:29-41 (from memory).
    """
    low = _first_at_most(curve.days, curve.low, share)
    high = _first_at_most(curve.days, curve.high, share)
    return Interval(
        math.inf if low is None else low, math.inf if high is None else high, curve.level,
        f"Brookmeyer-Crowley from the {curve.band} band",
    )  # fmt: skip


def _first_at_most(days: Sequence[float], shares: Sequence[float], share: float) -> float | None:
    return next((d for d, s in zip(days, shares, strict=True) if s <= share + _AT), None)
