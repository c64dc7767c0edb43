"""What warmth adds to development in a day: a straight rate, or one with an optimum and a hot end.

Both are given in effective degree-days, so that one thermal constant K serves either: development is
done when the days' effects add up to K (rate summation).

References
----------
Briere J.-F., Pracros P., Le Roux A.-Y., Pierre J.-S. 1999, A novel rate model of temperature-dependent
development for arthropods, Environ. Entomol. 28:22-29 (equation 1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from boxside.core.development.degree_days import single_sine
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import ThermalNeed

Floats = NDArray[np.float64]

# Twenty-four midpoints of the half turn: within 0.003 degree-days a day of the integral below the lethal
# temperature, within 0.1 where the afternoon passes it (measured against scipy's quad).
_PHASES = np.sin((np.arange(24) + 0.5) / 24 * np.pi - np.pi / 2)


def briere_rate(temperature_c: ArrayLike, scale: ArrayLike, lower_c: ArrayLike, lethal_c: ArrayLike) -> Floats:
    """Return the development rate per day, a T (T - T0) sqrt(TL - T), and 0 outside T0 to TL.

    Parameters
    ----------
    temperature_c : T, any shape
    scale : a, per day and degree**2.5
    lower_c, lethal_c : T0 and TL; T0 must not be below 0, where the form has no meaning

    Raises
    ------
    EntryError : if T0 is below 0 or TL not above T0
    """
    warm, a = np.asarray(temperature_c, dtype=np.float64), np.asarray(scale, dtype=np.float64)
    lower, lethal = np.asarray(lower_c, dtype=np.float64), np.asarray(lethal_c, dtype=np.float64)
    _check_limits(lower, lethal)
    inside = (warm > lower) & (warm < lethal)
    rate = a * warm * (warm - lower) * np.sqrt(np.maximum(lethal - warm, 0.0))
    return np.asarray(np.where(inside, rate, 0.0))


def briere_optimum_c(lower_c: float, lethal_c: float) -> float:
    """Return the temperature of the fastest development: the root of the rate's derivative.

    Raises
    ------
    EntryError : as `briere_rate`

    Examples
    --------
    >>> round(briere_optimum_c(0.0, 35.0), 6)
    28.0
    """
    _check_limits(np.asarray(lower_c), np.asarray(lethal_c))
    root = np.sqrt(16 * lethal_c**2 + 9 * lower_c**2 - 16 * lower_c * lethal_c)
    return float((4 * lethal_c + 3 * lower_c + root) / 10)


@dataclass(frozen=True, slots=True)
class RateCurve:
    """How a day's temperatures turn into effective degree-days above a threshold.

    With neither limit the rate is straight; `upper_c` holds it level above a cutoff; `lethal_c` bends it
    by the Briere form, scaled so that it equals the straight rate at `reference_c`, the temperature at
    which the constant K is known best.
    """

    upper_c: float | None = None
    lethal_c: float | None = None
    reference_c: float | None = None

    def effect_dd(self, min_c: ArrayLike, max_c: ArrayLike, lower_c: ArrayLike) -> Floats:
        """Return the effective degree-days of days with these extremes, for thresholds `lower_c`.

        Parameters
        ----------
        min_c, max_c, lower_c : arrays that broadcast together, degrees C

        Raises
        ------
        EntryError : a maximum below its minimum, or limits the wrong way round

        Notes
        -----
        A day is a sine wave through its extremes: in closed form for the straight rate, by 24 points
        for the bent one.
        """
        if self.lethal_c is None:
            return single_sine(min_c, max_c, lower_c, self.upper_c)
        low, high = np.asarray(min_c, dtype=np.float64), np.asarray(max_c, dtype=np.float64)
        mean, half = (low + high) / 2, (high - low) / 2
        lower = np.asarray(lower_c, dtype=np.float64)
        reference = self._reference(lower)
        scale = 1.0 / (reference * np.sqrt(self.lethal_c - reference))
        total = sum(briere_rate(mean + half * phase, scale, lower, self.lethal_c) for phase in _PHASES)
        return np.asarray(total / _PHASES.size)

    def _reference(self, lower: Floats) -> float:
        lethal = np.inf if self.lethal_c is None else self.lethal_c
        reference = self.reference_c
        if reference is None or not np.all(lower < reference) or reference >= lethal:
            raise EntryError(
                "A curve with a hot end needs the temperature at which its constant is known, between"
                " threshold and lethal temperature. Nothing was computed. Add it to the profile."
            )
        return reference


def curve_of(need: ThermalNeed) -> RateCurve:
    """Return the rate curve that a profile's temperature sum asks for."""
    return RateCurve(need.upper_c, need.lethal_c, need.reference_c)


def _check_limits(lower: Floats, lethal: Floats) -> None:
    if np.any(lower < 0) or np.any(lethal <= lower):
        raise EntryError(
            "A rate with an optimum needs a threshold of 0 C or more and a lethal temperature above it."
            " Nothing was computed. Correct the profile."
        )
