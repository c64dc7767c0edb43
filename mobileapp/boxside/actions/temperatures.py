"""Temperatures: a reading of a thermometer, and a logger's file taken in whole or not at all."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from boxside.actions.climates import measured_days, whole_days
from boxside.actions.context import today, zone_of
from boxside.actions.entry import named_entity
from boxside.actions.log_event import log_all
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.planning import (
    DateOrder,
    LayoutChoice,
    LineProblem,
    LoggerDays,
    LoggerLayout,
    LoggerReading,
    daily_extremes,
    logger_layouts,
    read_logger,
)
from boxside.core.values.ahead import Imported, ImportView, LayoutWay
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.forecast import DayTemperature
from boxside.core.values.moments import local_ms, offset_min_of, to_ms
from boxside.device.written import read_text
from boxside.store import outlook, reading

LARGEST_BYTES = 50_000_000
_NOON = 12 * 60
_SAMPLE = 5
_REMEMBERED = "logger:"
_ORDERS = {
    DateOrder.YEAR_FIRST: "year, month, day",
    DateOrder.DAY_FIRST: "day, month, year",
    DateOrder.MONTH_FIRST: "month, day, year",
}


@dataclass(frozen=True, slots=True)
class _Read:
    """A file as it would be taken in: its layouts, the one chosen, the measurements, the days."""

    text: str
    choice: LayoutChoice
    chosen: int
    remembered: bool
    measured: LoggerReading
    days: LoggerDays

    @property
    def is_settled(self) -> bool:
        """Whether it is clear how the file is to be read."""
        return len(self.choice.layouts) == 1 or self.remembered


def log_temperature(
    services: Services,
    area: str,
    now_c: float | None = None,
    min_c: float | None = None,
    max_c: float | None = None,
    by: str | None = None,
) -> str:
    """Log what a thermometer in an area shows; return the event's id.

    Raises
    ------
    EntryError : if nothing is given, the highest is below the lowest, or the area is not known
    """
    if now_c is None and min_c is None and max_c is None:
        raise EntryError("No temperature was given. Nothing was saved.")
    if min_c is not None and max_c is not None and max_c < min_c:
        raise EntryError(f"The highest, {max_c:g} °C, is below the lowest, {min_c:g} °C. Nothing was saved.")
    _check_area(services, area)
    fields: dict[str, Json] = {"now_c": now_c, "min_c": min_c, "max_c": max_c}
    (event,) = log_all(services, [Draft("temperature", "area", area, fields, by=by)])
    return event.id


def preview_file(services: Services, path: Path, area: str, way: int | None = None) -> ImportView:
    """Return how a logger's file would be read and what would come of it; nothing is saved.

    Parameters
    ----------
    path : the file
    area : id of the area in which the logger hung
    way : which of the ways to read it, by the number in `ways`; None for the remembered or only one

    Raises
    ------
    EntryError : if the file cannot be read as text, the area is not known, or there is no such way
    """
    _check_area(services, area)
    read = _read(services, path, way)
    new, known = _new_days(services, area, read.days.days)
    future = [day for day in new if day.on > today(services)]
    problems = list(read.measured.problems)
    if future:
        problems.insert(0, _future_line(read, future[0].on))
    settled = read.is_settled or way is not None
    return ImportView(
        path=str(path),
        columns=read.choice.columns,
        ways=tuple(_way(n, layout, read.choice.columns) for n, layout in enumerate(read.choice.layouts)),
        chosen=read.chosen,
        question="" if settled and read.choice.layouts else read.choice.question,
        remembered=read.remembered,
        n_rows=len(read.measured.rows),
        n_missing=read.measured.n_missing,
        n_new=len(new),
        n_known=known,
        n_future=len(future),
        partial=read.days.partial,
        first_on=read.days.days[0].on if read.days.days else None,
        last_on=read.days.days[-1].on if read.days.days else None,
        sample=tuple((day.on, day.min_c, day.max_c) for day in read.days.days[:_SAMPLE]),
        problems=tuple((problem.line, problem.reason) for problem in problems),
    )


def import_file(services: Services, path: Path, area: str, way: int | None = None) -> Imported:
    """Log the lowest and highest temperature of every whole day of a file, all or none.

    How the file was read is remembered for files with the same columns. Days that are logged already are left
    alone, so that importing a longer file of the same logger again adds what is new.

    Raises
    ------
    EntryError : with the line and the reason, if anything in the file cannot be taken; nothing was imported
    """
    view = preview_file(services, path, area, way)
    _refuse(view)
    read = _read(services, path, way)
    new, known = _new_days(services, area, read.days.days)
    zone = zone_of(services)
    # One visit: the logger was read out once, and one undo takes all its days back.
    visit = new_id(services, local_ms(new[0].on, _NOON, zone))
    drafts = [
        Draft(
            "temperature",
            "area",
            area,
            {"min_c": round(day.min_c, 2), "max_c": round(day.max_c, 2)},
            at_ms=min(local_ms(day.on, _NOON, zone), services.clock.now_ms()),
            visit=visit,
            note=f"from {path.name}",
        )
        for day in new
    ]
    remember = _remembering(read)
    events = log_all(services, [*remember, *drafts])
    label = reading.entity(services.store, "area", area)
    ids = tuple(event.id for event in events if event.kind == "temperature")
    return Imported(label.shown if label else area, len(new), known, read.days.partial, ids)


def take_back(services: Services, imported: Imported, area: str) -> None:
    """Take back a whole import, all or none."""
    log_all(services, [Draft("void", "area", area, voids=event) for event in imported.event_ids])


def area_named(services: Services, name: str | None) -> str:
    """Return the id of an area by its name; of the only area where none is named.

    Raises
    ------
    EntryError : if there is none of that name, or none was named and there is not exactly one
    """
    if name is not None:
        return named_entity(services, "area", name)
    areas = reading.entities(services.store, "area")
    if len(areas) == 1:
        return areas[0].id
    if not areas:
        raise EntryError("There is no area yet. Nothing was changed. Make one first, with the boxes that stand in it.")
    names = ", ".join(repr(area.label) for area in areas)
    raise EntryError(f"In which area did the logger hang? Say --area NAME, one of {names}. Nothing was changed.")


def _refuse(view: ImportView) -> None:
    name = Path(view.path).name
    if view.problems:
        line, reason = view.problems[0]
        more = len(view.problems) - 1
        also = f" {more} more line{'s' if more > 1 else ''} cannot be read either." if more else ""
        raise EntryError(f"{name}, line {line}: {reason}{also} Nothing was imported.")
    if view.question:
        ways = "; ".join(f"{way.number}: {_way_text(way)}" for way in view.ways)
        raise EntryError(f"{name}: {view.question} Nothing was imported. Choose a way: {ways}.")
    if not view.n_new:
        why = f"{view.n_known} days are logged already" if view.n_known else "no day in it is measured throughout"
        raise EntryError(f"{name}: {why}. Nothing was imported.")


def _way_text(way: LayoutWay) -> str:
    return f"{way.value} in {way.unit}, dates as {way.order}, decimal {way.decimal}"


def _read(services: Services, path: Path, way: int | None) -> _Read:
    text = read_text(path, LARGEST_BYTES, "Export the logger's table as CSV.")
    choice = logger_layouts(text)
    if not choice.layouts:
        problem = LineProblem(1, choice.question)
        return _Read(text, choice, 0, False, LoggerReading((), (problem,)), LoggerDays((), ()))
    if way is not None and not 0 <= way < len(choice.layouts):
        raise EntryError(f"There is no way {way} of reading {path.name}. Nothing was changed.")
    kept = _remembered_way(services, choice)
    chosen = way if way is not None else kept or 0
    measured = read_logger(text, choice.layouts[chosen])
    zone = zone_of(services)

    def offset_min_at(moment: datetime) -> int:
        return offset_min_of(to_ms(moment.replace(tzinfo=UTC)), zone)

    days = daily_extremes(measured.rows, offset_min_at)
    return _Read(text, choice, chosen, kept is not None and way is None, measured, days)


def _new_days(services: Services, area: str, days: Sequence[DayTemperature]) -> tuple[tuple[DayTemperature, ...], int]:
    """Return the days that are not logged in full yet, and how many are."""
    if not days:
        return (), 0
    from_ms = local_ms(days[0].on - timedelta(days=1), 0, zone_of(services))
    known = whole_days(services, outlook.standing(services.store, "area", area, "temperature", from_ms))
    new = tuple(day for day in days if day.on not in known)
    return new, len(days) - len(new)


def _future_line(read: _Read, first_on: date) -> LineProblem:
    line = next((row.line for row in read.measured.rows if row.stamp.at.date() >= first_on), 1)
    return LineProblem(line, f"{first_on.isoformat()} lies in the future: check the logger's clock or the date order.")


def _way(number: int, layout: LoggerLayout, columns: Sequence[str]) -> LayoutWay:
    when = " and ".join(columns[i] for i in layout.when)
    unit = "°F" if layout.fahrenheit else "°C"
    return LayoutWay(number, when, columns[layout.value], _ORDERS[layout.order], layout.decimal, unit)


def _header_key(choice: LayoutChoice) -> str:
    return _REMEMBERED + hashlib.sha256("\n".join(choice.columns).encode()).hexdigest()[:16]


def _layout_text(layout: LoggerLayout) -> str:
    """Return what tells the ways of one header apart; the line on which the rows begin is not part of it."""
    said = replace(layout, first_line=0, missing=())
    parts = (said.delimiter, said.decimal, list(said.when), said.value, said.order.value, said.fahrenheit)
    return json.dumps(parts)


def _remembered_way(services: Services, choice: LayoutChoice) -> int | None:
    kept = reading.entity(services.store, "setting", _header_key(choice))
    ways = [_layout_text(layout) for layout in choice.layouts]
    said = str(kept.data.get("value")) if kept else ""
    return ways.index(said) if said in ways else None


def _remembering(read: _Read) -> list[Draft]:
    if len(read.choice.layouts) == 1 or read.remembered:
        return []
    value = _layout_text(read.choice.layouts[read.chosen])
    return [Draft("setting_changed", "colony", "colony", {"key": _header_key(read.choice), "value": value})]


def _check_area(services: Services, area: str) -> None:
    if reading.entity(services.store, "area", area) is None:
        raise EntryError("There is no such area. Nothing was saved. Make one, or choose another.")


def days_measured(services: Services, area: str) -> tuple[DayTemperature, ...]:
    """Return all days that were measured in an area, in order."""
    return measured_days(services, outlook.standing(services.store, "area", area, "temperature"))
