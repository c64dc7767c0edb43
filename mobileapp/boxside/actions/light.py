"""Light: day length and dusk at the keeper's place through the year, and what reaches the boxes of an area."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from boxside.actions.areas import light_text
from boxside.actions.context import today, zone_of
from boxside.actions.evenings import place as place_of
from boxside.actions.services import Services
from boxside.core.development import Crossing, LampHours, Span, SunDay, light_day, sun_day
from boxside.core.values.ahead import LightRow, LightView
from boxside.core.values.chart import Chart, Role, Steps, date_axis, number_axis
from boxside.core.values.event import Json
from boxside.core.values.views import Notice
from boxside.store import outlook, reading

EVERY_DAYS = 7
_FULL_YEAR = 366
# Below this a year's light has no season that a larva could read (common practice, no source).
_SEASON_H = 1.0
UNSET = Notice("The place is not set, so there is no day length.", "", "Set latitude and longitude in the settings.")


def light_view(services: Services, area: str = "") -> LightView:
    """Return a year of light from today, week by week, at the keeper's place.

    Parameters
    ----------
    area : whose lamp and daylight count; empty for boxes that daylight reaches
    """
    at = place_of(services)
    if at is None:
        return LightView("", "", None, (), (), notice=UNSET)
    day, said = today(services), _said(services, area)
    days = [day + timedelta(days=n) for n in range(0, _FULL_YEAR, EVERY_DAYS)]
    rows = tuple(light_row(on, at, zone_of(services), said) for on in days)
    entity = reading.entity(services.store, "area", area) if area else None
    return LightView(
        place=_place_text(*at),
        area=entity.shown if entity else "",
        today=rows[0],
        rows=rows,
        notes=_notes(rows, said),
        chart=_chart(rows, said is not None),
    )


def light_row(on: date, place: tuple[float, float], zone: ZoneInfo, said: Mapping[str, Json] | None) -> LightRow:
    """Return one day's light.

    Parameters
    ----------
    place : latitude and longitude, degrees
    said : what was last logged of the area's light; None for daylight alone
    """
    sun = sun_day(on, *place, zone)
    reached = _daylight(sun) if said is None or said.get("daylight", True) else ()
    held = light_day(on, zone, reached, _lamps(said))
    horizon, civil = sun.horizon, sun.civil
    return LightRow(
        on=on,
        sunrise=horizon.rises_at.astimezone(zone) if horizon.rises_at else None,
        sunset=horizon.sinks_at.astimezone(zone) if horizon.sinks_at else None,
        dusk=civil.sinks_at.astimezone(zone) if civil.sinks_at else None,
        day_length_h=sun.day_length_h,
        box_light_h=held.light_h,
    )


def _said(services: Services, area: str) -> Mapping[str, Json] | None:
    newest = outlook.newest_of(services.store, "area", ("light_hours",))
    return next((item.fields for item in newest if item.subject == area), None)


def _daylight(sun: SunDay) -> tuple[Span, ...]:
    """Return when daylight reaches a box: from civil dawn to civil dusk, which is light enough to see by."""
    civil = sun.civil
    if civil.rises_at and civil.sinks_at:
        return (Span(civil.rises_at, civil.sinks_at),)
    if civil.crossing is Crossing.ALWAYS_ABOVE:
        return (Span(sun.noon_at - timedelta(hours=36), sun.noon_at + timedelta(hours=36)),)
    return ()


def _lamps(said: Mapping[str, Json] | None) -> tuple[LampHours, ...]:
    hours, on_min = (said or {}).get("hours"), (said or {}).get("on_min")
    if not isinstance(hours, (int, float)) or hours <= 0:
        return ()
    # Where nobody said when it goes on, noon is taken as its middle.
    start = on_min if isinstance(on_min, int) else round(720 - hours * 30) % 1440
    return (LampHours(start, (start + round(hours * 60)) % 1440),)


def _notes(rows: Sequence[LightRow], said: Mapping[str, Json] | None) -> tuple[str, ...]:
    outside = max(row.day_length_h for row in rows) - min(row.day_length_h for row in rows)
    notes = [f"Between the shortest and the longest day lie {outside:.1f} hours of day length."]
    if said is not None:
        inside = max(row.box_light_h for row in rows) - min(row.box_light_h for row in rows)
        notes.append(
            f"These boxes get {light_text(dict(said))}: their light changes by {inside:.1f} hours in the year."
        )
        if inside < _SEASON_H:
            notes.append("Such light says nothing of the season. What larvae take from day length is little known.")
        if max(row.box_light_h for row in rows) == 0:
            notes.append("In constant dark nine of ten larvae of one American firefly did not pupate.")
    if any(row.dusk is None for row in rows):
        notes.append("On some days it never gets dark enough for a civil dusk, or never light.")
    notes.append("Glow-worms begin to glow in twilight; civil dusk is when to look. Hills and weather shift it.")
    return tuple(notes)


def _chart(rows: Sequence[LightRow], with_area: bool) -> Chart:
    x = tuple(float(row.on.toordinal()) for row in rows)
    ends = x[-1] + EVERY_DAYS
    lines = [Steps("sunrise to sunset", Role.MAIN, x, tuple(row.day_length_h for row in rows), ends)]
    if with_area:
        lines.append(Steps("light in the boxes", Role.OTHER, x, tuple(row.box_light_h for row in rows), ends))
    return Chart(
        title="Day length",
        x=date_axis("Day", rows[0].on, rows[-1].on),
        y=number_axis("Light", "h", 0, 24),
        series=tuple(lines),
    )


def _place_text(latitude: float, longitude: float) -> str:
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):g}° {north}, {abs(longitude):g}° {east}"
