"""The calendar of the coming weeks and the helper's page, as files in the data folder's exports."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from boxside.actions.ahead import ahead_view
from boxside.actions.away import away_view
from boxside.actions.calendar import calendar_bytes
from boxside.actions.helper_sheet import sheet_bytes, sheet_text
from boxside.actions.services import Services
from boxside.device.written import make_folder, write_file

EXPORTS = "exports"


def save_calendar(services: Services, from_on: date | None = None, to_on: date | None = None) -> Path:
    """Write the weeks from a day to another as an iCalendar file; return where it is.

    A newer file of the same days takes the place of the older one; a calendar that takes both knows the entries
    again by their identifiers.

    Raises
    ------
    EntryError : for a span that cannot be looked at; nothing was written
    StoreError : if the disk refuses
    """
    view = ahead_view(services, from_on, to_on)
    path = _exports(services) / f"ahead_{view.from_on}_{view.to_on}.ics"
    write_file(path, calendar_bytes(services, view))
    return path


def save_sheet(services: Services, leave_on: date, back_on: date, helper: str = "") -> tuple[Path, Path]:
    """Write the helper's page as a PDF to print and as text to send; return where both are.

    Raises
    ------
    EntryError : for days that cannot be; nothing was written
    StoreError : if the disk refuses
    """
    view = away_view(services, leave_on, back_on, helper)
    stem = _exports(services) / f"away_{leave_on}_{back_on}"
    pdf, text = stem.with_suffix(".pdf"), stem.with_suffix(".txt")
    write_file(pdf, sheet_bytes(view))
    write_file(text, sheet_text(view).encode("utf-8"))
    return pdf, text


def _exports(services: Services) -> Path:
    folder = Path(services.device.data_dir) / EXPORTS
    make_folder(folder)
    return folder
