"""ahead, away, temperatures."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from boxside.actions import ahead, away, helper_sheet, temperature_texts, temperatures
from boxside.actions.calendar import calendar_bytes
from boxside.cli.options import Command, Context, day_of_text
from boxside.core.values.errors import EntryError
from boxside.device.written import write_file


def _ahead_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--from", dest="from_day", metavar="DATE", help="first day, included (default: today)")
    parser.add_argument("--to", dest="to_day", metavar="DATE", help="last day, included (default: four weeks)")
    parser.add_argument("--ics", metavar="FILE", help="also write it as an iCalendar file with alarms")


def _ahead(context: Context) -> int:
    asked, services = context.asked, context.services()
    from_on, to_on = day_of_text(asked.from_day, "--from"), day_of_text(asked.to_day, "--to")
    view = ahead.ahead_view(services, from_on, to_on)
    lines = ahead.ahead_lines(services, view)
    if asked.ics:
        write_file(Path(asked.ics), calendar_bytes(services, view))
        lines.append(f"Written: {asked.ics}")
    context.say("\n".join(lines), ahead.ahead_json(view))
    return 0


def _away_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--from", dest="from_day", metavar="DATE", required=True, help="last day at home")
    parser.add_argument("--to", dest="to_day", metavar="DATE", required=True, help="first day at home again")
    parser.add_argument("--helper", metavar="NAME", default="", help="who looks after the boxes meanwhile")
    parser.add_argument("--sheet", metavar="FILE", help="also write the helper's page, as .txt or .pdf")


def _away(context: Context) -> int:
    asked, services = context.asked, context.services()
    if asked.sheet and Path(asked.sheet).suffix.lower() not in (".txt", ".pdf"):
        raise EntryError(f"{asked.sheet}: a sheet is written as .txt or .pdf. Nothing was written.")
    leave_on, back_on = _day(asked.from_day, "--from"), _day(asked.to_day, "--to")
    view = away.away_view(services, leave_on, back_on, asked.helper)
    lines = helper_sheet.away_lines(services, view)
    if asked.sheet:
        path = Path(asked.sheet)
        as_pdf = path.suffix.lower() == ".pdf"
        write_file(path, helper_sheet.sheet_bytes(view) if as_pdf else helper_sheet.sheet_text(view).encode())
        lines.append(f"Written: {path}")
    context.say("\n".join(lines), away.away_json(view))
    return 0


def _day(text: str, name: str) -> date:
    day = day_of_text(text, name)
    if day is None:
        raise EntryError(f"{name} is needed. Nothing was changed.")
    return day


def _temperatures_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a logger's table as CSV, whatever its columns are called")
    parser.add_argument("--area", metavar="NAME", help="where the logger hung; may be left out where there is one area")
    parser.add_argument("--way", type=int, metavar="N", help="how to read it, where that is not clear from the file")
    parser.add_argument("--preview", action="store_true", help="say what would be imported, and save nothing")


def _temperatures(context: Context) -> int:
    asked, services = context.asked, context.services()
    area, path = temperatures.area_named(services, asked.area), Path(asked.file)
    if asked.preview:
        view = temperatures.preview_file(services, path, area, asked.way)
        context.say("\n".join(temperature_texts.preview_lines(view)), temperature_texts.preview_json(view))
        return 0
    done = temperatures.import_file(services, path, area, asked.way)
    left_out = f"; {len(done.partial)} left out because hours are missing" if done.partial else ""
    known = f"; {done.n_known} were logged already" if done.n_known else ""
    context.say(
        f"Imported {done.n_new} days into {done.area}{known}{left_out}.",
        {
            "area": done.area,
            "days": done.n_new,
            "known": done.n_known,
            "partial": [d.isoformat() for d in done.partial],
        },
    )
    return 0


AHEAD = Command("the coming weeks: boxes due day by day, hatches and emergences to expect", _ahead, _ahead_options)
AWAY = Command(
    "what leaving home asks for: the last day, a helper's days, the latest safe return", _away, _away_options
)
TEMPERATURES = Command(
    "take in a temperature logger's file: lowest and highest of each day, all or nothing",
    _temperatures,
    _temperatures_options,
)
