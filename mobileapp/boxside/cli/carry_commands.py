"""season."""

from __future__ import annotations

import argparse
from pathlib import Path

from boxside.actions import export_form, export_season
from boxside.actions.entry import named_entity
from boxside.actions.services import Services
from boxside.cli.options import Command, Context, day_of_text
from boxside.core.values.carry import Flavour, SeasonChoice
from boxside.core.values.errors import EntryError

_DECIMALS = {"point": ".", "comma": ","}


def _season_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", metavar="DIR", required=True, help="the folder to write into")
    parser.add_argument("--from", dest="from_day", metavar="DATE", help="first day, included")
    parser.add_argument("--to", dest="to_day", metavar="DATE", help="last day, included")
    parser.add_argument("--box", action="append", default=[], metavar="CODE", help="only this box; may be repeated")
    parser.add_argument(
        "--cohort", action="append", default=[], metavar="NAME", help="only this cohort; may be repeated"
    )
    parser.add_argument(
        "--for", dest="flavour", choices=[str(flavour) for flavour in Flavour], default=str(Flavour.ANALYSIS),
        help="for programs that calculate, or for a spreadsheet",
    )  # fmt: skip
    parser.add_argument(
        "--decimal", choices=list(_DECIMALS), help="the spreadsheet's decimal sign (default: this computer's)"
    )
    parser.add_argument("--photos", action="store_true", help="the photos too, without place")
    parser.add_argument("--report", action="store_true", help="a page with the plots too, to read or print")
    parser.add_argument("--darwin-core", action="store_true", help="a Darwin Core Archive too, to share")


def _season(context: Context) -> int:
    services = context.services()
    exported = export_season.export_chosen(services, Path(context.asked.out), _choice(services, context.asked))
    tables = [f"{n:7,} {name}" for name, n in exported.rows]
    plots = [plot.path for plot in exported.plots]
    drawn = [f"{len(plots):7,} pictures in plots/"] if plots else []
    photos = [f"{exported.photos:7,} photos in photos/"] if exported.photos else []
    more = [f"Written: {path}" for path in (exported.report, exported.darwin_core) if path]
    context.say(
        "\n".join([*tables, *drawn, *photos, *more, f"Written: {exported.path}"]),
        {
            "path": str(exported.path), "rows": dict(exported.rows), "plots": plots, "photos": exported.photos,
            "report": exported.report, "darwin_core": exported.darwin_core,
        },
    )  # fmt: skip
    return 0


def _choice(services: Services, asked: argparse.Namespace) -> SeasonChoice:
    if asked.decimal and asked.flavour != Flavour.SPREADSHEET:
        raise EntryError("--decimal is for --for spreadsheet. Nothing was written.")
    return SeasonChoice(
        from_day=day_of_text(asked.from_day, "--from"),
        to_day=day_of_text(asked.to_day, "--to"),
        boxes=tuple(box for code in asked.box for box in export_form.boxes_coded(services, code)),
        cohorts=tuple(named_entity(services, "cohort", name) for name in asked.cohort),
        flavour=Flavour(asked.flavour),
        decimal=_DECIMALS[asked.decimal] if asked.decimal else export_form.usual_decimal(),
        photos=asked.photos,
        report=asked.report,
        darwin_core=asked.darwin_core,
    )


SEASON = Command(
    "write a season's records as CSV with a data package descriptor, for analysis or a spreadsheet",
    _season,
    _season_options,
)
