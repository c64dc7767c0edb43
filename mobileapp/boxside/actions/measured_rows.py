"""Which measurings are those of a box's animals, or of a cohort, and how old the animals then were."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from boxside.actions.accept_measure import lengths_of
from boxside.actions.context import zone_of
from boxside.actions.facts import cohort_facts
from boxside.actions.services import Services
from boxside.core.values.event import Event
from boxside.core.values.moments import day_of
from boxside.core.values.stages import Stage
from boxside.store import reading
from boxside.store.of_kind import standing_of_kind


@dataclass(frozen=True, slots=True)
class Measuring:
    """The lengths in mm of larvae measured on a day at a box; `instar` 0 where it is not known."""

    event: str
    box: str
    day: date
    lengths_mm: tuple[float, ...]
    instar: int = 0


@dataclass(frozen=True, slots=True)
class Ages:
    """The day that ages count from, and what happened on it: hatched, or no more than first measured."""

    zero: date
    is_hatching: bool

    def of(self, day: date) -> float:
        """Return the age on a day."""
        return float((day - self.zero).days)


def of_cohort(services: Services, cohort: str) -> list[Measuring]:
    """Return the measurings of larvae of a cohort, wherever they were, oldest first."""
    return _rows(services, standing_of_kind(services.store, "cohort", cohort, "measured"))


def of_box(services: Services, box: str, cohorts: Collection[str]) -> list[Measuring]:
    """Return the measurings of the larvae of a box, there and in the boxes they came from before they left.

    Those of other cohorts than the ones that live there now are left out; one without a cohort counts.
    """
    events = {event.id: event for event in _here_and_before(services, box, None, set())}
    kept = [e for e in events.values() if not cohorts or e.fields.get("cohort") in (None, "", *cohorts)]
    return _rows(services, kept)


def _here_and_before(services: Services, box: str, until_ms: int | None, seen: set[str]) -> list[Event]:
    seen.add(box)
    found = [e for e in standing_of_kind(services.store, "box", box, "measured") if _by(e, until_ms)]
    for move in standing_of_kind(services.store, "box", box, "transfer"):
        if move.fields.get("to_box") == box and move.subject_id not in seen and _by(move, until_ms):
            found += _here_and_before(services, move.subject_id, move.at_ms, seen)
    return found


def _by(event: Event, until_ms: int | None) -> bool:
    return until_ms is None or event.at_ms <= until_ms


def _rows(services: Services, events: list[Event]) -> list[Measuring]:
    zone = zone_of(services)
    rows = []
    for event in events:
        lengths = tuple(lengths_of(event)) if event.fields.get("stage") in (None, "", Stage.LARVA) else ()
        instar = event.fields.get("instar")
        if lengths:
            number = instar if isinstance(instar, int) else 0
            rows.append(Measuring(event.id, event.subject_id, day_of(event.at_ms, zone), lengths, number))
    return sorted(rows, key=lambda row: (row.day, row.event))


def ages_of(services: Services, cohorts: Collection[str], rows: list[Measuring]) -> Ages | None:
    """Return what ages count from: the day one cohort hatched; else its first measuring; None without any."""
    if len(cohorts) == 1:
        (cohort,) = cohorts
        hatched = cohort_facts(services, [cohort], zone_of(services))[cohort].hatched_on
        if hatched is not None and all(row.day >= hatched for row in rows):
            return Ages(hatched, is_hatching=True)
    return Ages(rows[0].day, is_hatching=False) if rows else None


def measured_cohorts(services: Services) -> list[reading.Entity]:
    """Return the cohorts of which larvae were ever measured, by name."""
    all_of_them = reading.entities(services.store, "cohort")
    newest = reading.newest(services.store, "cohort", [cohort.id for cohort in all_of_them])
    return [c for c in all_of_them if any(item.kind == "measured" for item in newest[c.id])]
