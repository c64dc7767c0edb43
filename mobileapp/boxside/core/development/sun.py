"""Sunrise, sunset and dusk of a day at a place, and where there is none, why.

References
----------
Meeus J. 1998, Astronomical Algorithms, 2nd ed., chapters 15, 25 and 28 (position of low accuracy,
about 0.01 degrees; equation of time).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from enum import StrEnum

from boxside.core.values.errors import EntryError

# Upper limb on the horizon under 34' of refraction, 16' of radius: the almanacs' definition.
SUNRISE_DEG = -0.8333
CIVIL_DEG = -6.0
NAUTICAL_DEG = -12.0
_J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)


class Crossing(StrEnum):
    """Whether the sun crosses a height on a day, or stays on one side of it."""

    CROSSES = "crosses"
    ALWAYS_ABOVE = "always_above"
    ALWAYS_BELOW = "always_below"


@dataclass(frozen=True, slots=True)
class HeightTimes:
    """When the sun rises above and sinks below a height (UTC); None where it does not: see `crossing`."""

    crossing: Crossing
    rises_at: datetime | None = None
    sinks_at: datetime | None = None

    @property
    def above_h(self) -> float:
        """Hours of the day that the sun spends above the height."""
        if self.rises_at is None or self.sinks_at is None:
            return 24.0 if self.crossing is Crossing.ALWAYS_ABOVE else 0.0
        return (self.sinks_at - self.rises_at).total_seconds() / 3600


@dataclass(frozen=True, slots=True)
class SunDay:
    """The sun's day at a place: noon, then horizon, civil (-6 degrees) and nautical (-12) dusk and dawn."""

    noon_at: datetime
    horizon: HeightTimes
    civil: HeightTimes
    nautical: HeightTimes

    @property
    def day_length_h(self) -> float:
        """Hours from sunrise to sunset: 24 under the midnight sun, 0 in the polar night."""
        return self.horizon.above_h


def sun_day(day: date, latitude_deg: float, longitude_deg: float, zone: tzinfo) -> SunDay:
    """Return the sun's times around the noon that falls on a calendar day of the keeper.

    Parameters
    ----------
    day : calendar day in `zone`
    latitude_deg, longitude_deg : north and east positive
    zone : the keeper's zone; it only decides which noon belongs to the day

    Raises
    ------
    EntryError : a place off the globe

    Notes
    -----
    Within a minute of the NREL solar position algorithm up to 65 degrees of latitude. Air pressure and
    temperature shift sunrise and sunset by a minute or so, hills by much more. A dusk may come after
    midnight.
    """
    if not (-90 <= latitude_deg <= 90 and -180 <= longitude_deg <= 180):
        raise EntryError(
            f"{latitude_deg:g}, {longitude_deg:g} is no place on Earth. Nothing was computed. Latitude lies"
            " within 90 degrees, longitude within 180."
        )
    noon = _noon(day, longitude_deg, zone)
    horizon, civil, nautical = (
        height_times(noon, latitude_deg, height) for height in (SUNRISE_DEG, CIVIL_DEG, NAUTICAL_DEG)
    )
    return SunDay(noon, horizon, civil, nautical)


def height_times(noon_at: datetime, latitude_deg: float, height_deg: float) -> HeightTimes:
    """Return when the sun passes a height before and after a true noon.

    Parameters
    ----------
    noon_at : the moment of its highest stand, from `sun_day`
    latitude_deg : north positive
    height_deg : of the sun's centre above the horizon, degrees, below 0 under it
    """
    rises, sinks = (_passage(noon_at, latitude_deg, height_deg, side) for side in (-1, 1))
    if isinstance(rises, datetime) and isinstance(sinks, datetime):
        return HeightTimes(Crossing.CROSSES, rises, sinks)
    # On the first and last day of a season without night only one of the two exists.
    stays = rises if isinstance(rises, Crossing) else sinks
    return HeightTimes(stays if isinstance(stays, Crossing) else Crossing.CROSSES)


def _passage(noon_at: datetime, latitude_deg: float, height_deg: float, side: int) -> datetime | Crossing:
    """The passage nearest to noon on one side, refined with the declination of its own moment."""
    at, latitude = noon_at, math.radians(latitude_deg)
    equation_0 = _position(noon_at)[1]
    for _ in range(5):
        declination, equation = _position(at)
        # Close to a pole the divisor vanishes and the sun keeps its height all day.
        divisor = max(math.cos(latitude) * math.cos(declination), 1e-9)
        sine = math.sin(math.radians(height_deg)) - math.sin(latitude) * math.sin(declination)
        cosine = sine / divisor
        if cosine >= 1:
            return Crossing.ALWAYS_BELOW
        if cosine <= -1:
            return Crossing.ALWAYS_ABOVE
        minutes = side * math.degrees(math.acos(cosine)) * 4 - (equation - equation_0)
        at = noon_at + timedelta(minutes=minutes)
    return at


def _noon(day: date, longitude_deg: float, zone: tzinfo) -> datetime:
    """The sun's highest stand on the calendar day; a zone far from its meridian may move it by a day."""
    mean_noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC) - timedelta(minutes=4 * longitude_deg)
    local = mean_noon.astimezone(zone)
    mean_noon += timedelta(days=(day - local.date()).days)
    at = mean_noon
    for _ in range(3):
        at = mean_noon - timedelta(minutes=_position(at)[1])
    return at


def _position(at: datetime) -> tuple[float, float]:
    """Declination in radians, and equation of time in minutes, at a moment (Meeus, chapters 25 and 28)."""
    century = (at - _J2000).total_seconds() / 86400 / 36525
    mean_long = 280.46646 + century * (36000.76983 + 0.0003032 * century)
    anomaly = math.radians(357.52911 + century * (35999.05029 - 0.0001537 * century))
    centre = (
        (1.914602 - century * (0.004817 + 0.000014 * century)) * math.sin(anomaly)
        + (0.019993 - 0.000101 * century) * math.sin(2 * anomaly)
        + 0.000289 * math.sin(3 * anomaly)
    )
    node = math.radians(125.04 - 1934.136 * century)
    apparent = math.radians(mean_long + centre - 0.00569 - 0.00478 * math.sin(node))
    tilt = math.radians(23.4392911 - 0.0130042 * century + 0.00256 * math.cos(node))
    declination = math.asin(math.sin(tilt) * math.sin(apparent))
    ascension = math.degrees(math.atan2(math.cos(tilt) * math.sin(apparent), math.cos(apparent)))
    nutation = -0.00478 * math.sin(node) * math.cos(tilt)
    equation_deg = mean_long - 0.0057183 - ascension + nutation
    return declination, 4 * ((equation_deg + 180) % 360 - 180)
