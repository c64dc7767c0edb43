"""ahead, away, temperatures."""

from __future__ import annotations

import argparse
from pathlib import Path

from boxside.actions import ahead, temperature_texts, temperatures
from boxside.actions.calendar import calendar_bytes
from boxside.cli.options import Command, Context, day_of_text
from boxside.device.written import write_file


def _span_options(parser: argparse.ArgumentParser, required: bool) -> None:
    parser.add_argument("--from", dest="from_day", metavar="DATE", required=required, help="first day, included")
    parser.add_argument("--to", dest="to_day", metavar="DATE", required=required, help="last day, included")


def _ahead_options(parser: argparse.ArgumentParser) -> None:
    _span_options(parser, required=False)
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
TEMPERATURES = Command(
    "take in a temperature logger's file: lowest and highest of each day, all or nothing",
    _temperatures,
    _temperatures_options,
)
