"""The temperatures of an area as days, and what they make likely for the days to come."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from boxside.actions.context import profile, today, zone_of
from boxside.actions.services import Services
from boxside.core.development import Climate, fill_gaps, fit_climate, steady_climate
from boxside.core.values.forecast import DayTemperature
from boxside.core.values.moments import day_of, local_ms
from boxside.store import outlook, reading
from boxside.store.outlook import Logged

# A year gives the season; a second one steadies it and covers the eggs and pupae that the colony has seen.
RECORD_DAYS = 800
FEWEST_DAYS = 7
# Half the difference of day and night in a room (common practice, no source).
ROOM_HALF_RANGE_C = 1.5


@dataclass(frozen=True, slots=True)
class AreaRecord:
    """An area's measured days in order, and the climate they speak for.

    `basis` says in a sentence what stands for the days to come.
    """

    area: str
    measured: tuple[DayTemperature, ...]
    climate: Climate
    basis: str


def area_record(services: Services, area: str) -> AreaRecord:
    """Return an area's temperatures; an unknown or empty id gives a room as the profile means it."""
    from_on = today(services) - timedelta(days=RECORD_DAYS)
    from_ms = local_ms(from_on, 0, zone_of(services))
    logged = outlook.standing(services.store, "area", area, "temperature", from_ms) if area else []
    measured = measured_days(services, logged)
    if len(measured) >= FEWEST_DAYS:
        fitted = fit_climate(measured)
        season = "the season in your records" if fitted.seasonal else "the last thirty days measured"
        return AreaRecord(area, measured, fitted, f"Coming days are taken from {season} ({len(measured)} days).")
    return _unmeasured(services, area, measured)


def _unmeasured(services: Services, area: str, measured: tuple[DayTemperature, ...]) -> AreaRecord:
    entity = reading.entity(services.store, "area", area) if area else None
    usual = entity.data.get("usual_c") if entity else None
    if isinstance(usual, (int, float)):
        mean, basis = float(usual), f"Too few days are measured, so the area's usual {usual:g} °C is taken."
    elif measured:
        mean = sum((day.min_c + day.max_c) / 2 for day in measured) / len(measured)
        basis = f"Only {len(measured)} days are measured; their mean of {mean:.1f} °C is taken."
    else:
        mean = profile(services).number("cool.reference_c")
        basis = f"Nothing is measured here; a room of {mean:g} °C is assumed."
    steady = steady_climate(mean, ROOM_HALF_RANGE_C)
    return AreaRecord(area, measured, replace(steady, days=fill_gaps(measured, steady)), basis)


def measured_days(services: Services, logged: Iterable[Logged]) -> tuple[DayTemperature, ...]:
    """Return the lowest and highest temperature of each day on which any was logged, in order of date.

    A reading of `now` alone counts as both; several of one day are taken together.
    """
    zone = zone_of(services)
    days: dict[date, list[float]] = {}
    for item in logged:
        said = [item.fields.get(name) for name in ("min_c", "max_c", "now_c")]
        values = [float(value) for value in said if isinstance(value, (int, float))]
        if values:
            days.setdefault(day_of(item.at_ms, zone), []).extend(values)
    return tuple(DayTemperature(on, min(values), max(values)) for on, values in sorted(days.items()))


def whole_days(services: Services, logged: Sequence[Logged]) -> frozenset[date]:
    """Return the days for which both a lowest and a highest temperature were logged at once."""
    zone = zone_of(services)
    return frozenset(
        day_of(item.at_ms, zone)
        for item in logged
        if isinstance(item.fields.get("min_c"), (int, float)) and isinstance(item.fields.get("max_c"), (int, float))
    )
