"""What the form for an export starts with, and what its boxes are called."""

from __future__ import annotations

from datetime import date

from boxside.actions.context import zone_of
from boxside.actions.services import Services
from boxside.actions.show_season import seasons_of
from boxside.core.values.carry import ExportForm, Flavour
from boxside.core.values.errors import EntryError
from boxside.core.values.moments import day_of
from boxside.device.number_signs import decimal_sign
from boxside.store import reading

_FLAVOURS = (
    (str(Flavour.ANALYSIS), "For analysis: strict CSV with a descriptor"),
    (str(Flavour.SPREADSHEET), "For a spreadsheet: opens in place, formulas defused"),
)
_DECIMALS = ((".", "2.5 in cells apart by commas"), (",", "2,5 in cells apart by semicolons"))
_CAUTIONS = (
    "The tables hold everything that was logged: notes, names of people, and your place if you set one.",
    "Photos leave without place and camera; what they show stays.",
)


def export_form(services: Services) -> ExportForm:
    """Return what can be chosen of the log."""
    store, zone = services.store, zone_of(services)
    n_events, first_ms, last_ms, n_photos = reading.extent(store)

    def day(ms: int | None) -> date | None:
        return None if ms is None else day_of(ms, zone)

    boxes = reading.entities(store, "box")
    twice = {box.shown for box in boxes if sum(other.shown == box.shown for other in boxes) > 1}
    return ExportForm(
        n_events=n_events,
        n_photos=n_photos,
        first_on=day(first_ms),
        last_on=day(last_ms),
        seasons=tuple((name, *days) for name, days in seasons_of(services).items()),
        boxes=tuple((box.id, _label(box, box.shown in twice)) for box in boxes),
        cohorts=tuple((cohort.id, cohort.shown) for cohort in reading.entities(store, "cohort")),
        flavours=_FLAVOURS,
        decimals=_DECIMALS,
        decimal=usual_decimal(),
        cautions=_CAUTIONS,
    )


def _label(box: reading.Entity, is_shared: bool) -> str:
    return f"{box.shown} (retired)" if is_shared and not box.open else box.shown


def usual_decimal() -> str:
    """Return the decimal sign that this device writes."""
    return decimal_sign()


def boxes_coded(services: Services, code: str) -> tuple[str, ...]:
    """Return every box that has or had a code, retired ones among them, or the box with an id.

    Raises
    ------
    EntryError : if there is none
    """
    boxes = reading.entities(services.store, "box")
    found = tuple(box.id for box in boxes if code.upper() in (box.shown.upper(), box.label.upper()) or box.id == code)
    if not found:
        raise EntryError(f"There is no box {code!r}, nor was there one. Nothing was written.")
    return found
