"""A season as one HTML page with its plots, to open offline, keep or print."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from boxside import __version__
from boxside.actions.context import today, zone_of
from boxside.actions.services import Services
from boxside.actions.show_season import chosen_season
from boxside.actions.spans import Span, span_of_choice
from boxside.actions.wording import day_text
from boxside.core.charts import CHART_PALETTES
from boxside.core.ledger import Totals, totals
from boxside.core.tables import Report, ReportTable, report_html
from boxside.core.values.carry import ReportDone, SeasonChoice
from boxside.core.values.ledger import PRESENT, Line
from boxside.core.values.moments import day_of
from boxside.core.values.stages import Sex, Stage
from boxside.device.export_folder import write_lines
from boxside.store import reading

_ON_PAPER = {**CHART_PALETTES["day"], "ground": "#ffffff"}
_CAUTIONS = (
    "Boxside helps with records. It is not veterinary, medical or legal advice.",
    "Glow-worms are protected in some places, and some prey is regulated. Do not release captive stock without the "
    "competent authority.",
)


def write_report(services: Services, path: Path, choice: SeasonChoice) -> ReportDone:
    """Write the page of a season: one file, no scripts, nothing asked of a network.

    Raises
    ------
    EntryError : if the span is the wrong way round, or chooses what is not there; nothing was written
    StoreError : if the disk refuses
    """
    span = span_of_choice(services, choice)
    report = report_of(services, span, choice)
    n_bytes, _ = write_lines(path, report_html(report, _ON_PAPER))
    return ReportDone(str(path), n_bytes, tuple(section.title for section in report.sections))


def report_of(services: Services, span: Span, choice: SeasonChoice) -> Report:
    """Return what the page of a season says."""
    view = chosen_season(services, choice)
    lines = _lines_at(services, span, span.to_ms)
    return Report(
        title=f"Glow-worm colony, {_days(services, span)}",
        subtitle=f"{_chosen(services, choice)}. Written by Boxside {__version__} on {today(services).isoformat()}, "
        f"days in {zone_of(services).key}.",
        facts=_facts(services, span, lines),
        tables=tuple(_tables(services, lines)),
        sections=view.sections if view else (),
        closing=_CAUTIONS,
    )


def _days(services: Services, span: Span) -> str:
    first = day_text(span.from_day, date.min) if span.from_day else "from the beginning"
    last = min(span.to_day, today(services)) if span.to_day else today(services)
    return f"{first} to {day_text(last, date.min)}"


def _chosen(services: Services, choice: SeasonChoice) -> str:
    kind, ids = ("cohort", choice.cohorts) if choice.cohorts else ("box", choice.boxes)
    if not ids:
        return "All boxes and cohorts"
    found = [reading.entity(services.store, kind, one) for one in ids]
    names = ", ".join(one.shown for one in found if one)
    return f"Cohorts: {names}" if choice.cohorts else f"Boxes: {names}"


def _lines_at(services: Services, span: Span, ms: int) -> dict[tuple[Line, str], int]:
    """Return the lines and accounts of what was chosen as they stood before an instant."""
    found: dict[tuple[Line, str], int] = {}
    for box, cohort, stage, instar, sex, account, n in reading.balances_before(services.store, ms):
        if span.has(box, cohort):
            found[(Line(box, cohort, Stage(stage), instar, Sex(sex)), account)] = n
    return found


def _facts(services: Services, span: Span, lines: dict[tuple[Line, str], int]) -> tuple[tuple[str, str], ...]:
    kinds: dict[str, int] = {}
    days: set[object] = set()
    zone = zone_of(services)
    for row in reading.event_rows(services.store, span.from_ms, span.to_ms, scope=span.scope, standing=True):
        kinds[row[1]] = kinds.get(row[1], 0) + 1
        days.add(day_of(row[5], zone))
    return (
        ("Entries that count", f"{sum(kinds.values()):,} on {len(days):,} days"),
        ("Feedings, counts, transfers", ", ".join(f"{kinds.get(kind, 0):,}" for kind in ("fed", "count", "transfer"))),
        *_animals(totals(_lines_at(services, span, span.from_ms)), totals(lines)),
    )


def _animals(began: Totals, ended: Totals) -> tuple[tuple[str, str], ...]:
    """Return where the animals came from and went, so that it adds up from the first number to the last."""
    came, died, missing = (getattr(ended, name) - getattr(began, name) for name in ("came_in", "dead", "unaccounted"))
    went = ended.went_out - began.went_out
    # What was chosen may have taken animals from the rest of the colony, and given some to it.
    moved = ended.present + died + missing + went - came - began.present
    others = (("Moved in from the rest of the colony, less those moved out", f"{moved:,}"),) if moved else ()
    return (
        ("Animals at first", f"{began.present:,}"),
        ("Came in", f"{came:,}"),
        *others,
        ("Died", f"{died:,}"),
        ("Given away or escaped", f"{went:,}"),
        ("Unaccounted for", f"{missing:,}"),
        ("Animals at last", f"{ended.present:,}"),
    )


def _tables(services: Services, lines: dict[tuple[Line, str], int]) -> Iterator[ReportTable]:
    here = [(line, n) for (line, account), n in sorted(lines.items()) if account == PRESENT and n > 0]
    names = {cohort.id: cohort.shown for cohort in reading.entities(services.store, "cohort")}
    codes = {box.id: box.shown for box in reading.entities(services.store, "box")}
    if here:
        rows = sorted(
            (codes.get(line.box, ""), names.get(line.cohort, "unknown"), _stage_text(line), n) for line, n in here
        )
        yield ReportTable(
            "Who was where at last", ("box", "cohort", "stage", "animals"),
            tuple((box, cohort, stage, f"{n:,}") for box, cohort, stage, n in rows), frozenset({3}),
            "Expected numbers: what was logged, not what was counted on that day.",
        )  # fmt: skip


def _stage_text(line: Line) -> str:
    instar = f", instar {line.instar}" if line.instar else ""
    sex = "" if line.sex is Sex.UNKNOWN else f", {line.sex}"
    return f"{line.stage}{instar}{sex}"
