"""What part of the log is meant: days of the keeper's zone as instants, and boxes or cohorts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from boxside.actions.context import zone_of
from boxside.actions.services import Services
from boxside.core.values.carry import SeasonChoice
from boxside.core.values.errors import EntryError
from boxside.core.values.moments import local_ms
from boxside.store import reading
from boxside.store.scope import FIRST_MS, LAST_MS, Scope, cohorts_in, stays_of_cohorts


@dataclass(frozen=True, slots=True)
class Chosen:
    """Some boxes with all cohorts that lived in them, or some cohorts with all boxes they lived in."""

    boxes: frozenset[str]
    cohorts: frozenset[str]
    by_cohort: bool
    scope: Scope

    def has(self, box: str, cohort: str) -> bool:
        """Return whether animals of a cohort in a box were chosen."""
        return cohort in self.cohorts if self.by_cohort else box in self.boxes


@dataclass(frozen=True, slots=True)
class Span:
    """From an instant up to, not including, another, in milliseconds UTC; the days that it holds, if it has ends.

    `chosen` narrows it to some boxes or cohorts.
    """

    from_ms: int
    to_ms: int
    from_day: date | None = None
    to_day: date | None = None
    chosen: Chosen | None = None

    @property
    def ordinals(self) -> tuple[int, int]:
        """The first and last day as ordinals; those of the calendar where an end is open."""
        return (self.from_day or date.min).toordinal(), (self.to_day or date.max).toordinal()

    @property
    def scope(self) -> Scope | None:
        """Which events are meant; None for all."""
        return self.chosen.scope if self.chosen else None

    def has(self, box: str, cohort: str) -> bool:
        """Return whether animals of a cohort in a box are meant."""
        return self.chosen is None or self.chosen.has(box, cohort)

    def has_box(self, box: str) -> bool:
        """Return whether a box is meant."""
        return self.chosen is None or box in self.chosen.boxes

    def has_cohort(self, cohort: str) -> bool:
        """Return whether a cohort is meant."""
        return self.chosen is None or cohort in self.chosen.cohorts


def span_of(services: Services, from_day: date | None, to_day: date | None, choice: SeasonChoice | None = None) -> Span:
    """Return a span of calendar days of the keeper's zone, both included, as instants; None leaves an end open.

    Raises
    ------
    EntryError : if the choice names a box or cohort that is not there, or both boxes and cohorts
    """
    zone = zone_of(services)
    after = to_day + timedelta(days=1) if to_day and to_day < date.max else None
    return Span(
        from_ms=local_ms(from_day, 0, zone) if from_day else FIRST_MS,
        to_ms=local_ms(after, 0, zone) if after else LAST_MS,
        from_day=from_day,
        to_day=to_day,
        chosen=None if choice is None or choice.is_whole else _chosen(services, choice),
    )


def span_of_choice(services: Services, choice: SeasonChoice) -> Span:
    """Return the span of a choice.

    Raises
    ------
    EntryError : if it is the wrong way round, or chooses what is not there
    """
    if choice.from_day and choice.to_day and choice.from_day > choice.to_day:
        raise EntryError(
            f"The span is the wrong way round: {choice.from_day} is after {choice.to_day}. Nothing was written."
        )
    return span_of(services, choice.from_day, choice.to_day, choice)


def _chosen(services: Services, choice: SeasonChoice) -> Chosen:
    if choice.boxes and choice.cohorts:
        raise EntryError("Choose boxes or cohorts, not both. Nothing was written.")
    for name, ids in (("box", choice.boxes), ("cohort", choice.cohorts)):
        if any(reading.entity(services.store, name, one) is None for one in ids):
            raise EntryError(f"There is no such {name}. Nothing was written.")
    if choice.cohorts:
        stays = stays_of_cohorts(services.store, choice.cohorts)
        boxes = frozenset(box for box, _, _ in stays)
        scope = Scope(tuple(stays), choice.cohorts, _areas(services, boxes))
        return Chosen(boxes, frozenset(choice.cohorts), True, scope)
    boxes = frozenset(choice.boxes)
    stays = [(box, FIRST_MS, LAST_MS) for box in sorted(boxes)]
    scope = Scope(tuple(stays), (), _areas(services, boxes))
    return Chosen(boxes, frozenset(cohorts_in(services.store, sorted(boxes))), False, scope)


def _areas(services: Services, boxes: frozenset[str]) -> tuple[str, ...]:
    """Return the areas in which these boxes stand now: their temperatures belong to the boxes."""
    found = (reading.entity(services.store, "box", box) for box in boxes)
    return tuple(sorted({str(area) for box in found if box and (area := box.data.get("area"))}))
