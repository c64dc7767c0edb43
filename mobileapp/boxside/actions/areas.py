"""Areas: where boxes stand, how warm it is there, and what light reaches them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from boxside.actions.climates import AreaRecord, area_record
from boxside.actions.context import today
from boxside.actions.log_event import log_all
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.actions.wording import day_text
from boxside.core.values.ahead import AreaClimate, ClimateView
from boxside.core.values.chart import Bands, Chart, Dots, Role, date_axis, number_axis
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.forecast import DayTemperature
from boxside.store import outlook, reading
from boxside.store.reading import Entity

SHOWN_DAYS = 120


def climate_view(services: Services) -> ClimateView:
    """Return every area with its temperatures and its light."""
    boxes = reading.open_boxes(services.store)
    areas = reading.entities(services.store, "area")
    lights = {item.subject: item.fields for item in outlook.newest_of(services.store, "area", ("light_hours",))}
    ids = {area.id for area in areas}
    return ClimateView(
        areas=tuple(_area(services, area, boxes, lights.get(area.id)) for area in areas),
        n_homeless=sum(box.data.get("area") not in ids for box in boxes),
    )


def make_area(services: Services, name: str, usual_c: float | None = None, cool: bool = False) -> str:
    """Make an area; return its id.

    Raises
    ------
    EntryError : for a name that is empty or in use
    """
    taken = [area.label for area in reading.entities(services.store, "area")]
    if not name.strip() or name.strip() in taken:
        raise EntryError(f"An area needs a name of its own; {name.strip()!r} is not. Nothing was saved.")
    area = new_id(services, services.clock.now_ms())
    fields: dict[str, Json] = {"name": name.strip(), "usual_c": usual_c, "cool": cool}
    log_all(services, [Draft("area_made", "area", area, fields)])
    return area


def stand_in(services: Services, boxes: Sequence[str], area: str) -> tuple[str, ...]:
    """Let boxes stand in an area from now on, all or none; return the entries' ids."""
    events = log_all(services, [Draft("box_changed", "box", box, {"area": area}) for box in boxes])
    return tuple(event.id for event in events)


def log_light(services: Services, area: str, hours: float, on_min: int | None, daylight: bool) -> str:
    """Log what light an area gets: so many hours of a lamp from a minute of the day on, with or without daylight.

    No hours and no daylight is a dark cupboard. Returns the event's id.
    """
    fields: dict[str, Json] = {"hours": hours, "on_min": on_min, "daylight": daylight}
    (event,) = log_all(services, [Draft("light_hours", "area", area, fields)])
    return event.id


def light_text(said: dict[str, Json] | None) -> str:
    """Return what light an area gets, in words."""
    if said is None:
        return "daylight, as far as is known"
    hours = said.get("hours")
    lamp = f"lamp for {hours:g} h a day" if isinstance(hours, (int, float)) and hours > 0 else ""
    on_min = said.get("on_min")
    if lamp and isinstance(on_min, int):
        lamp += f" from {on_min // 60:02d}:{on_min % 60:02d}"
    daylight = "daylight" if said.get("daylight", True) else ""
    return " and ".join(part for part in (daylight, lamp) if part) or "dark throughout"


def _area(services: Services, area: Entity, boxes: Sequence[Entity], light: object) -> AreaClimate:
    record = area_record(services, area.id)
    usual = area.data.get("usual_c")
    last = record.measured[-1] if record.measured else None
    said = f"{last.min_c:.1f} to {last.max_c:.1f} °C on {day_text(last.on, today(services))}" if last else ""
    return AreaClimate(
        area_id=area.id,
        name=area.shown,
        n_boxes=sum(box.data.get("area") == area.id for box in boxes),
        usual_c=float(usual) if isinstance(usual, (int, float)) else None,
        cool=area.data.get("cool") is True,
        n_measured=len(record.measured),
        n_filled=record.climate.n_filled,
        last_on=last.on if last else None,
        last_text=said,
        basis=record.basis,
        light=light_text(dict(light) if isinstance(light, dict) else None),
        chart=_chart(area.shown, record),
    )


def _chart(name: str, record: AreaRecord) -> Chart | None:
    """Return lowest and highest by day; filled days are a layer of their own, and the notes count them."""
    days = record.climate.days[-SHOWN_DAYS:]
    if not days:
        return None
    low, high = min(day.min_c for day in days), max(day.max_c for day in days)
    filled = sum(day.filled for day in days)
    notes = (f"{filled} days without a measurement were filled in.",) if filled else ()
    return Chart(
        title=f"Temperature, {name}",
        x=date_axis("Day", days[0].on, days[-1].on),
        y=number_axis("Temperature", "°C", low, high),
        series=(_band("lowest to highest", Role.MAIN, days), *_filled(days)),
        notes=notes,
    )


def _band(name: str, role: Role, days: Sequence[DayTemperature]) -> Bands:
    return Bands(
        name,
        role,
        tuple(_at(day.on) for day in days),
        tuple(day.min_c for day in days),
        tuple(day.max_c for day in days),
    )


def _filled(days: Sequence[DayTemperature]) -> list[Dots]:
    """Return the middle of each day that was filled in; nothing where none was."""
    filled = [day for day in days if day.filled]
    middles = tuple((day.min_c + day.max_c) / 2 for day in filled)
    return [Dots("filled in", Role.OTHER, tuple(_at(day.on) for day in filled), middles)] if filled else []


def _at(day: date) -> float:
    return float(day.toordinal())
