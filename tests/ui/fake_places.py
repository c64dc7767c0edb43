"""Prey and surroundings of the invented colony: views as the actions would return them, and what was called."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from boxside.core.values.ahead import (
    AreaClimate,
    BatchView,
    ClimateView,
    ImportView,
    InstarPrey,
    LayoutWay,
    LightRow,
    LightView,
    NewStock,
    Part,
    PreyNeed,
    PreyView,
    StockRow,
    Sum,
)
from boxside.core.values.chart import Bands, Bars, Chart, Role, Steps, date_axis, number_axis
from boxside.core.values.season import Flow
from boxside.core.values.views import Notice, Saved
from tests.ui.fake_ahead import TODAY, is_quiet, kept, kept_flow
from tests.ui.fake_colony import Services

SNAIL = "garden snail"


def sum_of(n: int, sign: int = 1) -> Sum:
    """Return the sum of so many meals."""
    days = [TODAY + timedelta(days=i) for i in range(n)]
    parts = tuple(Part(f"B{i + 1:02d} on {day.isoformat()}", sign * (2.4 + i % 3)) for i, day in enumerate(days))
    return Sum(sum(part.value for part in parts), SNAIL, parts)


def _snail_need(weeks: tuple[Sum, ...]) -> PreyNeed:
    factors = (Part("garden snail a week", 29.61), Part("1 / young of a breeder a week", 0.25), Part("1 / share", 2.0))
    bridge = (Part("weeks until their young are big enough", 8), Part("a week", 29.61))
    left = Sum(-133.9, SNAIL, (Part("stock", 115), Part("kept for breeding", -12), *sum_of(40, -1).parts))
    return PreyNeed(
        SNAIL, True, 115, sum_of(59), weeks, TODAY + timedelta(days=10), "B13", left,
        Sum(15, "breeding animals", factors, True), Sum(236.88, SNAIL, bridge, True), TODAY + timedelta(days=56),
        "common practice, no source; starting value", ("Known host of rat lungworm: gloves, wash hands.",),
    )  # fmt: skip


def prey_view(services: Services) -> PreyView:
    """Return one kind that runs out, one that lasts and one that was never counted."""
    caution = "Snails and slugs can carry rat lungworm: gloves, washed hands, no kitchen tools, no food at the shelf."
    if is_quiet(services):
        return PreyView(TODAY, (), (), (), ("No stock was logged, so nothing can be said of it.",), (caution,))
    weeks = tuple(sum_of(n) for n in (4, 7, 13, 5, 6, 12, 10, 2))
    nothing = Sum(0, "slug")
    lasts = PreyNeed("slug", True, 40, sum_of(3), weeks, None, "", sum_of(3), None, None, None, "")
    regulated = "Regulated in some places: check local law before keeping, moving or discarding any."
    unknown = PreyNeed(
        "apple snail", False, 0, nothing, (nothing,) * 8, None, "", nothing, None, None, None, "", (regulated,)
    )  # fmt: skip
    held = (
        StockRow(SNAIL, "own 14 mm", 14.0, 45.0, TODAY - timedelta(days=12), 45, 0, "own culture", None, False),
        StockRow(SNAIL, "Q7", 6.0, 70.0, TODAY - timedelta(days=2), 61, 3, "bought", TODAY + timedelta(days=12), True),
        StockRow("slug", "", None, 40.0, TODAY, 40, 0, "", None, False),
    )
    fits = (
        InstarPrey(4, 172, "Instar 4 takes 5 to 15 mm (common practice, no source; starting value).",
                   (f"{SNAIL} Q7", f"{SNAIL} own 14 mm"), (), ()),
        InstarPrey(1, 55, "Instar 1 takes up to 3 mm (common practice, no source).", (), (), (f"{SNAIL} Q7",)),
        InstarPrey(6, 191, "Instar 6 takes 8 to 30 mm.", (f"{SNAIL} own 14 mm",), (f"{SNAIL} Q7",), ()),
    )  # fmt: skip
    at = tuple(float(TODAY.toordinal() + 7 * n) for n in range(8))
    chart = Chart(
        "Prey a week", date_axis("Week from", TODAY, TODAY + timedelta(days=55)), number_axis("Prey", "", 0, 50),
        (Bars("prey", Role.MAIN, at, tuple(week.value for week in weeks)),),
    )  # fmt: skip
    notes = (
        "Each meal is reckoned for the larvae there are now, by the profile and the box's own last meals.",
        "Batches in quarantine are not counted as stock.",
    )
    return PreyView(TODAY, held, (_snail_need(weeks), lasts, unknown), fits, notes, (caution,), chart)


def batch_view(services: Services, batch: str) -> BatchView:
    """Return a batch that one box refused; of `own 14 mm` nobody ate."""
    services.asked.append(("batch_view", batch))
    if batch == "own 14 mm":
        return BatchView(batch, (), (), (), Sum(0, "prey"), 0, False)
    days = [TODAY - timedelta(days=n) for n in (2, 1, 0)]
    meals = tuple((day, f"B0{n + 1}", ("4", "refused", "amount not said")[n]) for n, day in enumerate(days))
    fed = Sum(4, "prey", (Part(f"B01 on {days[0].isoformat()}", 4),))
    return BatchView(batch, meals, ("B01", "B02", "B03"), ("B02",), fed, 1, True)


def enter_stock(services: Services, new: NewStock, quarantine_days: int = 0) -> Saved:
    """Remember a stock."""
    return kept(services, "enter_stock", (new, quarantine_days), f"{new.n or new.added} {new.prey}")


def enter_breeders(services: Services, prey: str, n: int) -> Saved:
    """Remember breeders."""
    return kept(services, "enter_breeders", (prey, n), f"{n} {prey} set aside")


# ---- surroundings ----


def _area(area_id: str, name: str, n: int, cool: bool = False, light: str = "") -> AreaClimate:
    days = [TODAY - timedelta(days=40 - i) for i in range(40)]
    x = tuple(float(day.toordinal()) for day in days)
    low, high = tuple(18 + i % 3 for i in range(40)), tuple(21.5 + i % 4 for i in range(40))
    chart = Chart(
        f"Temperature, {name}", date_axis("Day", days[0], days[-1]), number_axis("Temperature", "°C", 18, 25),
        (Bands("lowest to highest", Role.MAIN, x, low, high),), ("3 days without a measurement were filled in.",),
    )  # fmt: skip
    return AreaClimate(
        area_id, name, n, 6.0 if cool else None, cool, 37 if n else 0, 3 if n else 0, TODAY if n else None,
        "18.6 to 21.8 °C on 28 May" if n else "", "Coming days are taken from the season in your records (313 days).",
        light or "daylight, as far as is known", chart if n else None,
    )  # fmt: skip


def climate_view(services: Services) -> ClimateView:
    """Return two areas, or none."""
    if is_quiet(services):
        return ClimateView((), 3)
    return ClimateView(
        (_area("a1", "Cellar shelf", 22, light="daylight and lamp for 12 h a day from 07:00"),
         _area("a2", "Cool room", 0, cool=True)), 1,
    )  # fmt: skip


def light_view(services: Services, area: str = "") -> LightView:
    """Return a year of light; without a place nothing."""
    services.asked.append(("light_view", area))
    if is_quiet(services):
        unset = Notice("The place is not set, so there is no day length.", "", "Set latitude and longitude.")
        return LightView("", "", None, (), (), notice=unset)
    rows = tuple(_light(TODAY + timedelta(days=7 * n), 12 + 4 * (1 - abs(26 - n) / 13), area) for n in range(53))
    x = tuple(float(row.on.toordinal()) for row in rows)
    lines = [Steps("sunrise to sunset", Role.MAIN, x, tuple(row.day_length_h for row in rows), x[-1] + 7)]
    if area:
        inside = Steps("light in the boxes", Role.OTHER, x, tuple(row.box_light_h for row in rows), x[-1] + 7)
        lines.append(inside)
    chart = Chart(
        "Day length", date_axis("Day", rows[0].on, rows[-1].on), number_axis("Light", "h", 0, 24), tuple(lines)
    )
    notes = (
        "Between the shortest and the longest day lie 8.3 hours of day length.",
        "Such light says nothing of the season. What larvae take from day length is little known.",
    )
    return LightView("50° N, 10° E", "Cellar shelf" if area else "", rows[0], rows, notes, chart)


def _light(on: date, hours: float, area: str) -> LightRow:
    def at(hour: float) -> datetime:
        return datetime(on.year, on.month, on.day, tzinfo=UTC) + timedelta(hours=hour)

    return LightRow(on, at(12 - hours / 2), at(12 + hours / 2), None, hours, 14.0 if area else hours)


def add_area(services: Services, name: str, usual_c: float | None = None, cool: bool = False) -> Saved:
    """Remember an area."""
    return kept(services, "add_area", (name, usual_c, cool), f"{name} added")


def place_boxes(services: Services, boxes: Any, area: str) -> Flow:
    """Remember a move."""
    return kept_flow(services, "place_boxes", (boxes, area), "B07: now in Cellar shelf")


def enter_temperature(services: Services, *given: Any) -> Saved:
    """Remember a reading."""
    return kept(services, "enter_temperature", given, "18.5 °C")


def enter_light(services: Services, *given: Any) -> Saved:
    """Remember a light."""
    return kept(services, "enter_light", given, "Light noted")


def preview_file(services: Services, path: Path, area: str, way: int | None = None) -> ImportView:
    """Return a file by its name: `open.csv` asks how it is to be read, `wrong.csv` has lines that cannot be."""
    services.asked.append(("preview_file", (path, area, way)))
    ways = tuple(
        LayoutWay(n, "Date and Time", "Temp [°C]", order, "point", "°C")
        for n, order in enumerate(("day, month, year", "month, day, year"))
    )
    is_open, is_wrong = path.name == "open.csv" and way is None, path.name == "wrong.csv"
    question = "Are dates in 'Date' day first or month first? Both fit every line." if is_open else ""
    problems = tuple((n, f"'2026-02-3{n}' is no date.") for n in range(3, 64)) if is_wrong else ()
    days = [TODAY - timedelta(days=9 - n) for n in range(5)]
    sample = tuple((day, 18.0 + n, 21.5 + n) for n, day in enumerate(days))
    n_new = 0 if path.name == "known.csv" else 8
    return ImportView(
        str(path), ("No.", "Date", "Time", "Temp [°C]", "Humidity [%]"), ways if "open" in path.name else ways[:1],
        way or 0, question, False, 1182, 3, n_new, 2, 0, (days[0],), days[0], TODAY, sample, problems,
    )  # fmt: skip


def take_in_file(services: Services, path: str, area: str, way: int | None = None) -> Flow:
    """Remember an import."""
    return kept_flow(services, "take_in_file", (path, area, way), "8 days into Cellar shelf")


NAMES = (
    "add_area", "batch_view", "climate_view", "enter_breeders", "enter_light", "enter_stock", "enter_temperature",
    "light_view", "place_boxes", "prey_view", "preview_file", "take_in_file",
)  # fmt: skip
PLACE_ACTIONS: dict[str, Any] = {name: globals()[name] for name in NAMES}

__all__ = ["PLACE_ACTIONS"]
