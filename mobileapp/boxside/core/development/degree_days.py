"""Degree-days from a day's minimum and maximum: average, sine and triangle, with horizontal cutoff.

Every function takes numbers or arrays that broadcast together, and works in any unit of temperature
as long as all arguments share it; Boxside passes degrees C.

References
----------
Baskerville G.L., Emin P. 1969, Rapid estimation of heat accumulation from maximum and minimum
temperatures, Ecology 50:514-517.
Allen J.C. 1976, A modified sine wave method for calculating degree days, Environ. Entomol. 5:388-396.
Zalom F.G., Goodell P.B., Wilson L.T., Barnett W.W., Bentley W.J. 1983, Degree-days: the calculation and
use of heat units in pest management, UC DANR Leaflet 21373.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from boxside.core.values.errors import EntryError

Floats = NDArray[np.float64]


class Averaging(StrEnum):
    """What is held between the thresholds in the simple average: the day's mean, or each extreme first.

    References
    ----------
    McMaster G.S., Wilhelm W.W. 1997, Growing degree-days: one equation, two interpretations,
    Agric. For. Meteorol. 87:291-300 (methods 1 and 2).
    """

    MEAN = "mean"
    EACH = "each"


def simple_average(
    min_c: ArrayLike,
    max_c: ArrayLike,
    lower_c: ArrayLike,
    upper_c: ArrayLike | None = None,
    averaging: Averaging = Averaging.MEAN,
) -> Floats:
    """Return degree-days by the mean of the two extremes.

    Parameters
    ----------
    min_c, max_c : lowest and highest temperature of the day
    lower_c, upper_c : thresholds; None for no upper one
    averaging : method 1 (the mean is held between the thresholds, Boxside's choice where it averages) or
        method 2 (each extreme is)

    Raises
    ------
    EntryError : if a maximum lies below its minimum, or the thresholds are the wrong way round

    Notes
    -----
    Method 1 gives nothing on a day whose mean is below the threshold although its afternoon was above.
    Forecasts use the single sine, which does not have this fault.
    """
    low, high, lower, upper = _checked(min_c, max_c, lower_c, upper_c)
    if averaging is Averaging.EACH:
        low, high = np.clip(low, lower, upper), np.clip(high, lower, upper)
    return np.asarray(np.clip((low + high) / 2, lower, upper) - lower)


def single_sine(min_c: ArrayLike, max_c: ArrayLike, lower_c: ArrayLike, upper_c: ArrayLike | None = None) -> Floats:
    """Return degree-days under one sine wave through a day's extremes.

    Parameters and errors as in `simple_average`.

    Notes
    -----
    One expression covers all six positions of the wave against the thresholds: with M the mean, a the
    half range and t1, t2 the phases at which the wave crosses them (held to a quarter turn),
    ``[(M - lower)(t2 - t1) + a (cos t1 - cos t2) + (upper - lower)(pi/2 - t2)] / pi``.
    """
    low, high, lower, upper = _checked(min_c, max_c, lower_c, upper_c)
    mean, half = (low + high) / 2, (high - low) / 2
    phase_1 = _crossing(lower - mean, half)
    phase_2 = _crossing(upper - mean, half)
    area = (mean - lower) * (phase_2 - phase_1) + half * (np.cos(phase_1) - np.cos(phase_2))
    total = (area + (upper - lower) * (np.pi / 2 - phase_2)) / np.pi
    # A wave wholly below the threshold leaves rounding dust of either sign.
    return np.asarray(np.where(high <= lower, 0.0, np.maximum(total, 0.0)))


def single_triangle(min_c: ArrayLike, max_c: ArrayLike, lower_c: ArrayLike, upper_c: ArrayLike | None = None) -> Floats:
    """Return degree-days under straight lines from the minimum to the maximum and back.

    Parameters and errors as in `simple_average`.
    """
    low, high, lower, upper = _checked(min_c, max_c, lower_c, upper_c)
    return np.asarray(_triangle_above(low, high, lower) - _triangle_above(low, high, upper))


def double_sine(
    min_c: ArrayLike,
    max_c: ArrayLike,
    next_min_c: ArrayLike,
    lower_c: ArrayLike,
    upper_c: ArrayLike | None = None,
) -> Floats:
    """Return degree-days under half a sine wave up from today's minimum and half down to tomorrow's.

    Parameters and errors as in `simple_average`; `next_min_c` is the following day's minimum.
    """
    rise = single_sine(min_c, max_c, lower_c, upper_c)
    return np.asarray((rise + single_sine(next_min_c, max_c, lower_c, upper_c)) / 2)


def double_triangle(
    min_c: ArrayLike,
    max_c: ArrayLike,
    next_min_c: ArrayLike,
    lower_c: ArrayLike,
    upper_c: ArrayLike | None = None,
) -> Floats:
    """Return degree-days under a line up from today's minimum and one down to tomorrow's.

    Parameters and errors as in `simple_average`; `next_min_c` is the following day's minimum.
    """
    rise = single_triangle(min_c, max_c, lower_c, upper_c)
    return np.asarray((rise + single_triangle(next_min_c, max_c, lower_c, upper_c)) / 2)


def _checked(
    min_c: ArrayLike, max_c: ArrayLike, lower_c: ArrayLike, upper_c: ArrayLike | None
) -> tuple[Floats, Floats, Floats, Floats]:
    low, high = np.asarray(min_c, dtype=np.float64), np.asarray(max_c, dtype=np.float64)
    lower = np.asarray(lower_c, dtype=np.float64)
    if np.any(high < low):
        raise EntryError("A day's highest temperature is below its lowest. Nothing was computed. Correct that day.")
    # Without an upper threshold any value above the wave does, and a finite one keeps 0 * inf out.
    above = np.maximum(high, lower) + 1.0
    upper = above if upper_c is None else np.minimum(np.asarray(upper_c, dtype=np.float64), above)
    if np.any(upper < lower):
        raise EntryError("The upper threshold is below the lower one. Nothing was computed. Correct the profile.")
    return low, high, lower, upper


def _crossing(height: Floats, half: Floats) -> Floats:
    """Phase at which a wave of half range `half` is `height` above its mean, held to a quarter turn."""
    flat = half <= 0
    # Held to the wave before dividing: a nearly flat day would overflow.
    ratio = np.clip(height, -half, half) / np.where(flat, 1.0, half)
    return np.asarray(np.arcsin(np.where(flat, np.where(height >= 0, 1.0, -1.0), ratio)))


def _triangle_above(low: Floats, high: Floats, threshold: Floats) -> Floats:
    above = np.clip(high - threshold, 0.0, high - low)
    part = above * (above / np.where(high > low, high - low, 1.0)) / 2
    return np.asarray(np.where(low >= threshold, (low + high) / 2 - threshold, part))
