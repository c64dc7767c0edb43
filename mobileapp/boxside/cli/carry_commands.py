"""season, import, gather."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

from boxside.actions import export_form, export_season, gather, import_events, import_notebook, import_texts
from boxside.actions.archive_events import count_text
from boxside.actions.entry import named_entity
from boxside.actions.services import Services
from boxside.catalog.catalog import load_catalog
from boxside.cli.options import Command, Context, day_of_text
from boxside.core.values.carry import Flavour, NotebookMapping, SeasonChoice
from boxside.core.values.errors import EntryError
from boxside.device.folders import bundled

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


def _import_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="an exported events.csv, its folder, or an old notebook as CSV")
    parser.add_argument(
        "--map", action="append", default=[], metavar="ROLE=COLUMN",
        help="which column is what, by heading or number: date, time, box, kind, amount, note, by, field:NAME",
    )  # fmt: skip
    parser.add_argument("--kind", help="what was done on every line, where no column says it")
    parser.add_argument(
        "--word",
        action="append",
        default=[],
        metavar="WORD=KIND",
        help="what a word of it means; WORD= skips it",
    )
    parser.add_argument("--order", choices=["ymd", "dmy", "mdy"], help="the order of day, month and year")
    parser.add_argument("--decimal", choices=list(_DECIMALS), help="the notebook's decimal sign")
    parser.add_argument("--make-boxes", action="store_true", help="make boxes that are not there yet, or not so early")
    parser.add_argument("--preview", action="store_true", help="say what would be imported, and save nothing")


def _import(context: Context) -> int:
    asked, path = context.asked, Path(context.asked.file)
    services = context.services()
    told = any((asked.map, asked.kind, asked.word, asked.order, asked.decimal, asked.make_boxes))
    if not told and import_events.is_events_table(path):
        return _import_events(context, services, path)
    mapping = _mapping(services, path, asked) if told else None
    if asked.preview:
        view = import_notebook.notebook_view(services, path, mapping)
        context.say("\n".join(import_texts.notebook_lines(view)), import_texts.notebook_json(view))
        return 0 if view.ready else 1
    flow = import_notebook.import_notebook(services, path, mapping)
    what = flow.notice.what if flow.notice else ""
    made = [f"Made: {', '.join(label for _, label in flow.made)}."] if flow.made else []
    context.say("\n".join([what, *made]), {"events": list(flow.events), "boxes": [label for _, label in flow.made]})
    return 0


def _import_events(context: Context, services: Services, path: Path) -> int:
    if context.asked.preview:
        view = import_events.preview_events(services, path)
        context.say("\n".join(import_texts.events_lines(view)), import_texts.events_json(view))
        return 0 if view.ready else 1
    done = import_events.import_events(services, path)
    said = f"{done.notice.what} {done.notice.safe}".strip()
    context.say(f"{said} (boxside merge --undo)" if done.undo else said, {"new": done.n_new, "undo": done.undo})
    return 0


def _mapping(services: Services, path: Path, asked: argparse.Namespace) -> NotebookMapping:
    """Return the mapping that is remembered or guessed, with what the options say put in its place."""
    view = import_notebook.notebook_form_of(services, path)
    columns = dict(view.mapping.columns)
    for said in asked.map:
        role, found, column = said.partition("=")
        if not found:
            raise EntryError(f"--map {said!r}: say ROLE=COLUMN. Nothing was imported.")
        columns[role] = _column(view.columns, column)
    words = dict(view.mapping.kinds) | dict(_word(said) for said in asked.word)
    return replace(
        view.mapping,
        columns=tuple(columns.items()),
        kind=asked.kind or view.mapping.kind,
        kinds=tuple(words.items()),
        order=asked.order or view.mapping.order,
        decimal=_DECIMALS[asked.decimal] if asked.decimal else view.mapping.decimal,
        make_boxes=asked.make_boxes or view.mapping.make_boxes,
    )


def _column(columns: tuple[str, ...], said: str) -> int:
    """Return the column of a heading, or of a number from 1."""
    folded = [column.casefold() for column in columns]
    if said.casefold() in folded:
        return folded.index(said.casefold())
    if said.isascii() and said.isdigit() and 1 <= int(said) <= len(columns):
        return int(said) - 1
    raise EntryError(f"--map: there is no column {said!r} (there are {', '.join(columns)}). Nothing was imported.")


def _word(said: str) -> tuple[str, str]:
    word, found, kind = said.rpartition("=")
    if not found:
        raise EntryError(f"--word {said!r}: say WORD=KIND. Nothing was imported.")
    return word, kind


def _gather_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("archives", metavar="ARCHIVE", nargs="+", help="archives, of one keeper or many")
    parser.add_argument("--out", metavar="DIR", required=True, help="an empty folder to write into")


def _gather(context: Context) -> int:
    asked = context.asked
    catalog = load_catalog(bundled("shared"))
    done = gather.gather(catalog, [Path(name) for name in asked.archives], Path(asked.out))
    counts = ((done.n_events, "event"), (done.n_keepers, "keeper"), (done.n_archives, "archive"))
    twice = f"; {done.n_twice:,} events were in more than one" if done.n_twice else ""
    context.say(
        f"Gathered: {', '.join(count_text(n, what) for n, what in counts)}{twice}.\n"
        f"Written: {done.path}",
        {
            "path": str(done.path), "archives": done.n_archives, "keepers": done.n_keepers, "events": done.n_events,
            "movements": done.n_movements, "twice": done.n_twice,
        },
    )  # fmt: skip
    return 0


IMPORT = Command(
    "take in an exported log or an old notebook: --preview shows it, errors come by line, all or nothing",
    _import,
    _import_options,
)
GATHER = Command("write many archives as one Parquet data set, for DuckDB, Dask and the like", _gather, _gather_options)
SEASON = Command(
    "write a season's records as CSV with a data package descriptor, for analysis or a spreadsheet",
    _season,
    _season_options,
)
