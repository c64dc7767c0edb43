"""The rows of the season's worked-out tables: headcounts, transfers, stages, survival and life tables."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date

from boxside.actions.season_figures import Colony, between_of, cohort_table, colony_of, lives_of
from boxside.actions.services import Services
from boxside.actions.spans import Span
from boxside.core.ledger import End, Entry
from boxside.core.survival import Missing, interval_curve, survival_curve
from boxside.core.values.ledger import IN_ACCOUNTS, PRESENT, Account, Line, Posting
from boxside.core.values.moments import iso_text
from boxside.core.values.stages import Stage
from boxside.store import reading

Row = tuple[object, ...]
_COLUMNS = (
    "came_in", "stage_in", "box_in", "cohort_in", "stage_out", "box_out", "cohort_out", "dead", "unaccounted",
    "went_out",
)  # fmt: skip
_GAINS = frozenset({"came_in", "stage_in", "box_in", "cohort_in"})
_OUTSIDE = {Account.DEAD: "dead", Account.UNACCOUNTED: "unaccounted"}


def pairs_of(entry: Entry) -> Iterator[tuple[Posting, Posting]]:
    """Yield the shifts of an event as (from, to), both with the number of animals in their delta."""
    for first, second in zip(entry.postings[::2], entry.postings[1::2], strict=True):
        yield (first, second) if first.delta < 0 else (second, first)


def headcounts(services: Services, span: Span) -> Iterator[Row]:
    """Yield the headcount of each box, cohort and stage on each day of the span on which it changed."""
    colony = colony_of(services, span.to_ms)
    codes = {box.id: box.shown for box in reading.entities(services.store, "box")}
    changes: dict[int, dict[tuple[str, str, Stage], Counter[str]]] = {}
    for entry in colony.entries.values():
        day = changes.setdefault(colony.day(entry.at_ms), {})
        for source, target in pairs_of(entry):
            for line, column, n in _columns(source, target):
                day.setdefault((line.box, line.cohort, line.stage), Counter())[column] += n
    present: Counter[tuple[str, str, Stage]] = Counter()
    first, _ = span.ordinals
    for day_of_year in sorted(changes):
        for key in sorted(changes[day_of_year]):
            said, before = changes[day_of_year][key], present[key]
            present[key] = before + sum(n if name in _GAINS else -n for name, n in said.items())
            box, cohort, stage = key
            if day_of_year >= first and any(said.values()) and span.has(box, cohort):
                yield (
                    date.fromordinal(day_of_year), box, codes.get(box), cohort or None,
                    colony.name(cohort) if cohort else None, str(stage), before,
                    *(said[name] for name in _COLUMNS), present[key],
                )  # fmt: skip


def _columns(source: Posting, target: Posting) -> Iterator[tuple[Line, str, int]]:
    """Yield what one shift adds to which column of which line."""
    n = target.delta
    if source.account == PRESENT == target.account:
        for name in ("cohort", "box", "stage"):
            if getattr(source.line, name) != getattr(target.line, name):
                yield source.line, f"{name}_out", n
                yield target.line, f"{name}_in", n
                return
        return
    for posting, sign in ((source, -1), (target, 1)):
        if posting.account in IN_ACCOUNTS:
            yield posting.line, "came_in", -sign * n
        elif posting.account != PRESENT:
            yield posting.line, _OUTSIDE.get(Account(posting.account), "went_out"), sign * n


def transfers(services: Services, span: Span) -> Iterator[Row]:
    """Yield the groups that went from one box to another in the span."""
    colony = colony_of(services, span.to_ms)
    codes = {box.id: box.shown for box in reading.entities(services.store, "box")}
    emptied: dict[str, list[int]] = {}
    for entry in colony.entries.values():
        if entry.kind == "confirmed_empty":
            emptied.setdefault(entry.box, []).append(entry.at_ms)
    for event, struck in reading.stream(services.store, span.from_ms, span.to_ms, scope=span.scope):
        entry_or_none = colony.entries.get(event.id)
        if struck is not None or entry_or_none is None:
            continue
        when = iso_text(event.at_ms, event.offset_min)
        for nth, (source, target) in enumerate(pairs_of(entry_or_none)):
            old, line, said = source.line, target.line, event.fields
            if not (source.account == PRESENT == target.account) or old.box == line.box:
                continue
            if not (span.has(old.box, old.cohort) or span.has(line.box, line.cohort)):
                continue
            checked = [ms for ms in emptied.get(old.box, ()) if ms >= event.at_ms]
            yield (
                event.id, nth, when, event.tz, date.fromisoformat(when[:10]), event.kind, old.box, codes.get(old.box),
                line.box, codes.get(line.box), line.cohort or None, colony.name(line.cohort) if line.cohort else None,
                str(line.stage), line.instar, str(line.sex), target.delta, said.get("counted"), said.get("size"),
                said.get("empties"), date.fromordinal(colony.day(min(checked))) if checked else None,
            )  # fmt: skip


def stages(services: Services, span: Span) -> Iterator[Row]:
    """Yield what became of the animals of the span's cohorts, stage by stage."""
    colony, cohorts = _of_span(services, span)
    codes = {box.id: box.shown for box in reading.entities(services.store, "box")}
    chosen = [p for p in colony.passages if (p.cohort in cohorts or not p.cohort) and span.has(p.box, p.cohort)]
    for nth, p in enumerate(chosen, start=1):
        days = [None if ms is None else date.fromordinal(colony.day(ms))
                for ms in (p.came_ms, p.entered_after_ms, p.entered_ms, p.left_after_ms, p.left_ms)]  # fmt: skip
        yield (
            nth, p.cohort or None, colony.name(p.cohort) if p.cohort else None, str(p.stage), str(p.sex), p.n, *days,
            str(p.end), colony.causes(p) if p.end is End.DIED else None, p.is_last, p.box, codes.get(p.box),
        )  # fmt: skip


def survival(services: Services, span: Span) -> Iterator[Row]:
    """Yield the survival curves of the span's cohorts, by both methods and with the missing taken both ways."""
    colony, cohorts = _of_span(services, span)
    for cohort in cohorts:
        for missing in Missing:
            head = (cohort, colony.name(cohort))
            curve = survival_curve(lives_of(colony, colony.of(cohort), missing))
            few = curve.show_counts_not_curve
            for day, at_risk, died, alive, error, low, high in zip(
                curve.days, curve.n_at_risk, curve.n_died, curve.survival, curve.std_error, curve.low, curve.high,
                strict=True,
            ):  # fmt: skip
                bounds = (_known(error), _known(low), _known(high))
                yield (*head, "product_limit", str(missing), None, day, at_risk, float(died), alive, *bounds, few)
            between = interval_curve(between_of(colony, colony.of(cohort), missing))
            for after, by, mass in zip(between.after, between.by, between.mass, strict=True):
                if mass <= 0.0 or math.isinf(by):
                    continue
                low, high = between.bounds_at(by)
                yield (*head, "interval", str(missing), max(after, 0.0), by, None, mass, None, None, low, high, few)


def lifetable(services: Services, span: Span) -> Iterator[Row]:
    """Yield the life tables of the span's cohorts."""
    colony, cohorts = _of_span(services, span)
    for cohort in cohorts:
        found = cohort_table(colony, cohort)
        if found is None:
            continue
        table = found.table
        for i, age in enumerate(table.ages):
            yield (
                cohort, colony.name(cohort), found.from_egg, age, found.n_at_risk[i], table.alive[i],
                max(0.0, table.dying[i]), table.risk[i], table.births[i], found.eggs[i], table.net_rate,
                table.generation, table.rate,
            )  # fmt: skip


def _of_span(services: Services, span: Span) -> tuple[Colony, Sequence[str]]:
    colony = colony_of(services, span.to_ms)
    return colony, [cohort for cohort in colony.cohorts(*span.ordinals) if span.has_cohort(cohort)]


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
