"""A season as CSV tables with a Data Package descriptor, streamed from the log; photos and pages on request."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from boxside import __version__
from boxside.actions.context import zone_of
from boxside.actions.darwin_core import write_darwin_core
from boxside.actions.draw_plots import Plot, draw_plots, plot_names
from boxside.actions.export_photos import export_photos
from boxside.actions.keep_archives import hand_on
from boxside.actions.season_report import write_report
from boxside.actions.season_rows import ROWS
from boxside.actions.services import Services
from boxside.actions.spans import Span, span_of_choice
from boxside.core.tables import (
    FileNote,
    csv_text,
    descriptor,
    dictionary_rows,
    kind_rows,
    package_readme,
    spreadsheet_text,
)
from boxside.core.values.carry import ArchiveDone, Flavour, SeasonChoice
from boxside.core.values.moments import iso_text, offset_min_of
from boxside.core.values.table import Table
from boxside.device import export_folder
from boxside.device.export_pictures import remove_earlier

REPORT, DARWIN_CORE = "report.html", "darwin-core.zip"


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written: the descriptor's path, the records of each table, the pictures, and what was asked for.

    `report` and `darwin_core` are paths, empty where they were not asked for; `photos` is a number.
    """

    path: Path
    rows: tuple[tuple[str, int], ...]
    plots: tuple[Plot, ...] = ()
    photos: int = 0
    report: str = ""
    darwin_core: str = ""


def export_season(services: Services, out: Path, from_day: date | None = None, to_day: date | None = None) -> Exported:
    """Write the tables and pictures of a span of days, both included, for analysis; see `export_chosen`."""
    return export_chosen(services, out, SeasonChoice(from_day, to_day))


def export_chosen(services: Services, out: Path, choice: SeasonChoice) -> Exported:
    """Write what was chosen of the log into a folder, in the chosen flavour.

    Raises
    ------
    EntryError : if the span is the wrong way round, a box or cohort is not there, or the folder holds files that
        are not ours; nothing was written
    StoreError : if the disk refuses
    """
    span = span_of_choice(services, choice)
    tables = services.catalog.tables
    export_folder.prepare(out, [*(f"{name}.csv" for name in tables), *plot_names(), REPORT, DARWIN_CORE])
    files = [_write(out, tables[name], rows, choice) for name, rows in _sources(services, span).items()]
    plots = draw_plots(services, out, choice)
    photos = export_photos(services, out, span if choice.photos else None)
    report, shared = _pages(services, out, choice)
    package = _package(services, files, choice)
    package["boxside"]["plots"] = [_noted(plot.path, plot.n_bytes, plot.sha256, title=plot.title) for plot in plots]
    package["boxside"]["photos"] = [_noted(photo.path, photo.n_bytes, photo.sha256) for photo in photos]
    export_folder.write_descriptor(out, package, package_readme(package) + _plots_text(plots))
    hand_on(services)
    rows = tuple((file.table.name, file.n_rows) for file in files)
    path = out / export_folder.DESCRIPTOR
    return Exported(path, rows, plots, len(photos), report, shared.path if shared else "")


def _pages(services: Services, out: Path, choice: SeasonChoice) -> tuple[str, ArchiveDone | None]:
    """Write the page and the shared archive where they were asked for, and take away those of an earlier export."""
    left = [name for name, asked in ((REPORT, choice.report), (DARWIN_CORE, choice.darwin_core)) if not asked]
    remove_earlier(out / name for name in left)
    report = write_report(services, out / REPORT, choice).path if choice.report else ""
    return report, write_darwin_core(services, out / DARWIN_CORE, choice) if choice.darwin_core else None


def _package(services: Services, files: Sequence[FileNote], choice: SeasonChoice) -> dict[str, Any]:
    now_ms = services.clock.now_ms()
    return descriptor(
        files,
        iso_text(now_ms, offset_min_of(now_ms, zone_of(services))),
        choice.from_day.isoformat() if choice.from_day else "",
        choice.to_day.isoformat() if choice.to_day else "",
        f"boxside {__version__}",
        choice.decimal if choice.flavour is Flavour.SPREADSHEET else "",
    )


def _noted(path: str, n_bytes: int, sha256: str, **more: str) -> dict[str, object]:
    return {"path": path, **more, "bytes": n_bytes, "hash": f"sha256:{sha256}"}


def _plots_text(plots: Sequence[Plot]) -> str:
    """Return what the page beside the tables says about the pictures."""
    lines = [f"- {plot.path}: {plot.title}" for plot in plots]
    return "\n".join(["Pictures (their numbers are in the tables):", "", *lines, ""]) if plots else ""


def _sources(services: Services, span: Span) -> dict[str, Iterable[tuple[object, ...]]]:
    """Return the rows of every declared table; a table without a source is a fault of ours."""
    sources: dict[str, Iterable[tuple[object, ...]]] = {
        "kinds": kind_rows(services.catalog.vocabulary),
        "data_dictionary": dictionary_rows(services.catalog.tables.values()),
    }
    makers: dict[str, Callable[[Services, Span], Iterator[tuple[object, ...]]]] = ROWS
    return {
        name: sources[name] if name in sources else makers[name](services, span) for name in services.catalog.tables
    }


def _write(out: Path, table: Table, rows: Iterable[tuple[object, ...]], choice: SeasonChoice) -> FileNote:
    n_rows = 0

    def counted() -> Iterator[Sequence[object]]:
        nonlocal n_rows
        yield table.header
        for row in rows:
            n_rows += 1
            yield row

    if choice.flavour is Flavour.SPREADSHEET:
        text = spreadsheet_text(counted(), [column.type for column in table.columns], choice.decimal)
    else:
        text = csv_text(counted())
    path = f"{table.name}.csv"
    n_bytes, digest = export_folder.write_lines(out / path, text)
    return FileNote(table, path, n_bytes, digest, n_rows)


__all__ = ["DARWIN_CORE", "REPORT", "Exported", "export_chosen", "export_season"]
