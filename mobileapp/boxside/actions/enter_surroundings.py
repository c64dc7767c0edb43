"""Areas, boxes in them, temperatures, light, prey and put-off tasks, entered so that each can be taken back at once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

from boxside.actions.areas import log_light, make_area, stand_in
from boxside.actions.context import today
from boxside.actions.prey_stock import log_culture, log_stock
from boxside.actions.services import Services
from boxside.actions.smoothing import put_off
from boxside.actions.temperatures import import_file, log_temperature
from boxside.actions.void_event import last_own
from boxside.core.values.ahead import MovedTask, NewStock
from boxside.core.values.errors import EntryError
from boxside.core.values.season import Flow
from boxside.core.values.views import Saved, Undo
from boxside.store import reading


def add_area(services: Services, name: str, usual_c: float | None = None, cool: bool = False) -> Saved:
    """Make an area."""
    make_area(services, name, usual_c, cool)
    made = last_own(services)
    if made is None:
        raise EntryError("The area was not kept. Try again.")
    return _kept(made.id, f"{name.strip()} added")


def place_boxes(services: Services, boxes: Sequence[str], area: str) -> Flow:
    """Let boxes stand in an area from now on."""
    events = stand_in(services, boxes, area)
    there = reading.entity(services.store, "area", area)
    first = reading.entity(services.store, "box", boxes[0])
    what = first.shown if len(boxes) == 1 and first else f"{len(boxes)} boxes"
    return _flow(events, f"{what}: now in {there.shown if there else area}")


def enter_temperature(
    services: Services, area: str, now_c: float | None = None, min_c: float | None = None, max_c: float | None = None
) -> Saved:
    """Log what the thermometer of an area shows."""
    said = [f"{value:g} °C" for value in (now_c, min_c, max_c) if value is not None]
    return _kept(log_temperature(services, area, now_c, min_c, max_c), " to ".join(said))


def enter_light(services: Services, area: str, hours: float, on_min: int | None, daylight: bool) -> Saved:
    """Log what light an area gets."""
    return _kept(log_light(services, area, hours, on_min, daylight), "Light noted")


def enter_stock(services: Services, new: NewStock, quarantine_days: int = 0) -> Saved:
    """Log a batch of prey; with days of quarantine, counted from today."""
    until: date | None = today(services) + timedelta(days=quarantine_days) if quarantine_days else None
    event = log_stock(
        services,
        NewStock(new.prey, new.n, new.added, new.batch, new.size_mm, new.origin, new.quarantine_until or until),
    )
    n = new.n if new.n is not None else f"{new.added or 0:+d}"
    return _kept(event, f"{n} {new.prey.strip()}")


def enter_breeders(services: Services, prey: str, n: int) -> Saved:
    """Log how many of a kind are set aside for breeding."""
    return _kept(log_culture(services, prey, breeders=n), f"{n} {prey} set aside")


def spread_tasks(services: Services, moved: tuple[MovedTask, ...]) -> Flow:
    """Put off every task that is better done later."""
    events = put_off(services, moved)
    return _flow(events, f"{len(events)} task{'s' if len(events) > 1 else ''} put off")


def take_in_file(services: Services, path: str, area: str, way: int | None = None) -> Flow:
    """Import a logger's file."""
    done = import_file(services, Path(path), area, way)
    return _flow(done.event_ids, f"{done.n_new} day{'s' if done.n_new > 1 else ''} into {done.area}")


def _kept(event: str, label: str) -> Saved:
    return Saved(event, Undo(event, label), None)


def _flow(events: tuple[str, ...], label: str) -> Flow:
    return Flow(_kept(events[-1], label), events)
