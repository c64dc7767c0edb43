"""ahead, away, temperatures."""

from __future__ import annotations

import argparse
from pathlib import Path

from boxside.actions import ahead
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


AHEAD = Command("the coming weeks: boxes due day by day, hatches and emergences to expect", _ahead, _ahead_options)
