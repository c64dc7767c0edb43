"""Threshold and thermal constant from rearings at several temperatures: two straight lines.

References
----------
Campbell A., Frazer B.D., Gilbert N., Gutierrez A.P., Mackauer M. 1974, Temperature requirements of some
aphids and their parasites, J. Appl. Ecol. 11:431-438 (rate line and its standard errors).
Ikemoto T., Takai K. 2000, A new linearized formula for the law of total effective temperature and the
evaluation of line-fitting methods with both variables subject to error, Environ. Entomol. 29:671-682.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import ThermalNeed

Floats = NDArray[np.float64]

POOR_R2 = 0.9


@dataclass(frozen=True, slots=True)
class RateLine:
    """A fitted threshold T0 (degrees C) and constant K (degree-days), with what is wrong with them.

    `t0_sd_c`, `k_sd_dd` and their `correlation` are 0 where the method gives none; `warnings` are plain
    sentences; `usable` is False where the pair must not be used to predict.
    """

    t0_c: float
    k_dd: float
    r2: float
    n: int
    t0_sd_c: float = 0.0
    k_sd_dd: float = 0.0
    correlation: float = 0.0
    warnings: tuple[str, ...] = ()
    usable: bool = True

    def days(self, temperature_c: float) -> float:
        """Return the predicted duration in days at a constant temperature, infinite at or below T0.

        Raises
        ------
        EntryError : if the line is not usable
        """
        self._refuse()
        return self.k_dd / (temperature_c - self.t0_c) if temperature_c > self.t0_c else np.inf

    def need(self, source: str = "") -> ThermalNeed:
        """Return the pair as a `ThermalNeed` with its standard errors.

        Raises
        ------
        EntryError : if the line is not usable
        """
        self._refuse()
        return ThermalNeed(
            self.t0_c, self.k_dd, self.t0_sd_c, self.k_sd_dd, correlation=self.correlation, source=source
        )

    def _refuse(self) -> None:
        if not self.usable:
            raise EntryError(f"{' '.join(self.warnings)} Nothing was predicted. Use a range of days instead.")


def rate_line(temperature_c: ArrayLike, days: ArrayLike) -> RateLine:
    """Return T0 = -a/b and K = 1/b of the least-squares line 1/D = a + bT.

    Parameters
    ----------
    temperature_c : (n,) constant rearing temperatures
    days : (n,) durations at them, above 0

    Raises
    ------
    EntryError : fewer than three rearings, fewer than two temperatures, a duration that is not positive

    Notes
    -----
    Only for the straight middle part of the rate curve: leave out temperatures near the threshold and
    beyond the optimum. A line whose T0 is below 0 degrees C, or that falls, is refused for prediction;
    r2 below 0.9 is warned of (0.9: common practice, no source). Standard errors by the delta method.
    """
    warm, duration = _rearings(temperature_c, days)
    rate = 1 / duration
    n = warm.size
    centred = warm - warm.mean()
    slope = float(centred @ rate / (centred @ centred))
    start = float(rate.mean() - slope * warm.mean())
    residual = rate - start - slope * warm
    total = float(np.sum((rate - rate.mean()) ** 2))
    r2 = 1 - float(residual @ residual) / total if total > 0 else 0.0
    if slope <= 0:
        return RateLine(np.nan, np.nan, r2, n, warnings=(_FALLS,), usable=False)
    t0, k = -start / slope, 1 / slope
    variance = float(residual @ residual) / (n - 2)
    # Errors of slope and of the rate at the mean temperature are uncorrelated, which keeps this short.
    var_slope = variance / float(centred @ centred)
    reach = float(warm.mean()) - t0
    sd_t0 = float(np.sqrt(variance / n + reach**2 * var_slope)) / slope
    sd_k = float(np.sqrt(var_slope)) / slope**2
    bound = reach * var_slope / slope**3
    correlation = -bound / (sd_t0 * sd_k) if sd_t0 * sd_k > 0 else 0.0
    warnings, usable = _doubts(t0, r2)
    return RateLine(t0, k, r2, n, sd_t0, sd_k, correlation, warnings, usable)


def ikemoto_takai_line(temperature_c: ArrayLike, days: ArrayLike) -> RateLine:
    """Return T0 and K of the reduced-major-axis line DT = K + T0 D.

    Parameters, errors and refusals as in `rate_line`.

    Notes
    -----
    Both D T and D carry the error of D, hence the reduced major axis: T0 is the ratio of the standard
    deviations. No standard errors are given.
    """
    warm, duration = _rearings(temperature_c, days)
    product = duration * warm
    spread = float(np.std(duration))
    if spread == 0:
        return RateLine(np.nan, np.nan, 0.0, warm.size, warnings=(_FALLS,), usable=False)
    moment = float(np.mean((duration - duration.mean()) * (product - product.mean())))
    t0 = float(np.sign(moment)) * float(np.std(product)) / spread
    k = float(product.mean() - t0 * duration.mean())
    r2 = (moment / (spread * float(np.std(product)))) ** 2 if float(np.std(product)) > 0 else 0.0
    warnings, usable = _doubts(t0, r2)
    if k <= 0:
        return RateLine(t0, k, r2, warm.size, warnings=(*warnings, _FALLS), usable=False)
    return RateLine(t0, k, r2, warm.size, warnings=warnings, usable=usable)


_FALLS = "Development does not speed up with warmth in these rearings, so they have no threshold."


def _rearings(temperature_c: ArrayLike, days: ArrayLike) -> tuple[Floats, Floats]:
    warm = np.asarray(temperature_c, dtype=np.float64).ravel()
    duration = np.asarray(days, dtype=np.float64).ravel()
    if warm.size != duration.size or warm.size < 3 or np.unique(warm).size < 2:
        raise EntryError(
            "A threshold needs at least three rearings at two or more temperatures, one duration each."
            " Nothing was fitted. Add rearings, or use a range of days."
        )
    if not np.all(np.isfinite(duration) & (duration > 0) & np.isfinite(warm)):
        raise EntryError("A duration must be a number of days above 0. Nothing was fitted. Correct it.")
    return warm, duration


def _doubts(t0_c: float, r2: float) -> tuple[tuple[str, ...], bool]:
    warnings: list[str] = []
    if t0_c < 0:
        warnings.append(f"The threshold comes out at {t0_c:.1f} C, below freezing: the line means nothing.")
    if r2 < POOR_R2:
        warnings.append(f"The line explains {100 * r2:.0f} % of the differences: a poor threshold.")
    return tuple(warnings), t0_c >= 0
