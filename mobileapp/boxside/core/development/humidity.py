"""Dew point, condensation on a lid, and the salt test of a hygrometer."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from boxside.core.values.errors import EntryError

# Alduchov O.A., Eskridge R.E. 1996, Improved Magnus form approximation of saturation vapor pressure,
# J. Appl. Meteorol. 35:601-609.
_A, _B_C, _C_HPA = 17.625, 243.04, 6.1094


class Salt(StrEnum):
    """Salts whose wet slurry holds the air over it at a known humidity."""

    SODIUM_CHLORIDE = "sodium_chloride"
    POTASSIUM_CHLORIDE = "potassium_chloride"
    MAGNESIUM_CHLORIDE = "magnesium_chloride"
    LITHIUM_CHLORIDE = "lithium_chloride"


# Greenspan L. 1977, Humidity fixed points of binary saturated aqueous solutions, J. Res. Natl. Bur. Stand.
# 81A:89-96: percent, powers of the temperature in C. Some copies print lithium chloride's second number
# with a minus sign; with it the published table is missed by 0.4 %.
_GREENSPAN = {
    Salt.SODIUM_CHLORIDE: (75.5164, 0.0398321, -0.265459e-2, 0.2848e-4),
    Salt.POTASSIUM_CHLORIDE: (88.619, -0.19334, 0.899706e-3, 0.0),
    Salt.MAGNESIUM_CHLORIDE: (33.6686, -0.00797397, -0.108988e-2, 0.0),
    Salt.LITHIUM_CHLORIDE: (11.2323, 0.00824245, -0.214890e-3, 0.0),
}


@dataclass(frozen=True, slots=True)
class SaltTest:
    """A hygrometer over a wet salt: what the air held, what it showed, and the difference to take off.

    All in percent of saturation; `error` is above 0 where the hygrometer reads too moist.
    """

    true_percent: float
    shown_percent: float
    error: float


def saturation_hpa(temperature_c: float) -> float:
    """Return the vapour pressure of saturated air over water, hPa; for -40 to 60 degrees C.

    References
    ----------
    Alduchov O.A., Eskridge R.E. 1996, J. Appl. Meteorol. 35:601-609.
    """
    return _C_HPA * math.exp(_A * temperature_c / (_B_C + temperature_c))


def dew_point_c(temperature_c: float, humidity_percent: float) -> float:
    """Return the temperature at which air begins to give off its water, degrees C.

    Parameters
    ----------
    temperature_c : of the air, -40 to 60
    humidity_percent : relative humidity, above 0 to 100

    Raises
    ------
    EntryError : outside these limits

    Notes
    -----
    The formula is good to 0.35 degrees; a hygrometer that is 3 % out moves the dew point by half a degree.
    """
    if not (-40 <= temperature_c <= 60 and 0 < humidity_percent <= 100):
        raise EntryError(
            f"{temperature_c:g} C with {humidity_percent:g} % humidity is no air over a box."
            " Nothing was computed. Read both again."
        )
    gamma = math.log(humidity_percent / 100) + _A * temperature_c / (_B_C + temperature_c)
    return _B_C * gamma / (_A - gamma)


def condenses(air_c: float, humidity_percent: float, surface_c: float) -> bool:
    """Return whether water will settle on a lid or wall of that temperature. Errors as `dew_point_c`."""
    return surface_c < dew_point_c(air_c, humidity_percent)


def salt_humidity_percent(salt: Salt, temperature_c: float) -> float:
    """Return the relative humidity over a wet slurry of a salt, percent.

    Raises
    ------
    EntryError : outside 5 to 40 degrees C

    References
    ----------
    Greenspan L. 1977, J. Res. Natl. Bur. Stand. 81A:89-96.
    """
    if not 5 <= temperature_c <= 40:
        raise EntryError(f"The salt test holds from 5 to 40 C, not at {temperature_c:g} C. Do it indoors.")
    return sum(a * temperature_c**power for power, a in enumerate(_GREENSPAN[salt]))


def salt_test(salt: Salt, temperature_c: float, shown_percent: float) -> SaltTest:
    """Return how far out a hygrometer is that lay over a wet salt for some hours.

    Raises
    ------
    EntryError : as `salt_humidity_percent`, or a reading outside 0 to 100

    Notes
    -----
    Test near the humidity that matters: table salt (75 %) says little about the moist end, potassium
    chloride (85 %) more. Keep the salt off the animals, the skin and the hygrometer itself.
    """
    if not 0 <= shown_percent <= 100:
        raise EntryError(f"{shown_percent:g} % is no humidity. Read the hygrometer again.")
    true = salt_humidity_percent(salt, temperature_c)
    return SaltTest(true, shown_percent, shown_percent - true)
