"""A season as CSV tables with a Data Package descriptor, streamed from the log."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from boxside import __version__
from boxside.actions.context import zone_of
from boxside.actions.draw_plots import Plot, draw_plots, plot_names
from boxside.actions.keep_archives import hand_on
from boxside.actions.season_rows import ROWS
from boxside.actions.services import Services
from boxside.actions.spans import Span, span_of
from boxside.core.tables import FileNote, csv_line, descriptor, dictionary_rows, kind_rows, package_readme
from boxside.core.values.errors import EntryError
from boxside.core.values.moments import iso_text, offset_min_of
from boxside.core.values.table import Table
from boxside.device import export_folder


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written: the descriptor's path, the records of each table, and the pictures."""

    path: Path
    rows: tuple[tuple[str, int], ...]
    plots: tuple[Plot, ...] = ()


def export_season(services: Services, out: Path, from_day: date | None = None, to_day: date | None = None) -> Exported:
    """Write the tables and pictures of a span of days, both included, into a folder.

    Raises
    ------
    EntryError : if the span is the wrong way round, or the folder holds files that are not ours
    StoreError : if the disk refuses
    """
    if from_day and to_day and from_day > to_day:
        raise EntryError(f"The span is the wrong way round: {from_day} is after {to_day}. Nothing was written.")
    span = span_of(services, from_day, to_day)
    tables = services.catalog.tables
    export_folder.prepare(out, [*(f"{name}.csv" for name in tables), *plot_names()])
    files = [_write(out, tables[name], rows) for name, rows in _sources(services, span).items()]
    plots = draw_plots(services, out, from_day, to_day)
    now_ms = services.clock.now_ms()
    package = descriptor(
        files,
        iso_text(now_ms, offset_min_of(now_ms, zone_of(services))),
        from_day.isoformat() if from_day else "",
        to_day.isoformat() if to_day else "",
        f"boxside {__version__}",
    )
    package["boxside"]["plots"] = [
        {"path": plot.path, "title": plot.title, "bytes": plot.n_bytes, "hash": f"sha256:{plot.sha256}"}
        for plot in plots
    ]
    export_folder.write_descriptor(out, package, package_readme(package) + _plots_text(plots))
    hand_on(services)
    return Exported(out / export_folder.DESCRIPTOR, tuple((file.table.name, file.n_rows) for file in files), plots)


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


def _write(out: Path, table: Table, rows: Iterable[tuple[object, ...]]) -> FileNote:
    n_rows = 0

    def lines() -> Iterator[str]:
        nonlocal n_rows
        yield csv_line(table.header)
        for row in rows:
            n_rows += 1
            yield csv_line(row)

    path = f"{table.name}.csv"
    n_bytes, digest = export_folder.write_lines(out / path, lines())
    return FileNote(table, path, n_bytes, digest, n_rows)
