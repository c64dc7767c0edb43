"""What survival is worked out from: the histories of all animals, in days, as the log tells them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

from boxside.actions.context import zone_of
from boxside.actions.services import Services
from boxside.core.ledger import End, Entry, Passage, walk
from boxside.core.survival import Between, Fate, Life, LifeTable, Missing, Span, Stay, life_table, survival_curve
from boxside.core.values.event import Json
from boxside.core.values.moments import day_of
from boxside.core.values.stages import Stage
from boxside.core.values.vocabulary import Witness
from boxside.store import reading
from boxside.store.intervals import booked_events

_HALF_DAY = 0.5
_FATES = {
    End.MOVED_ON: Fate.MOVED_ON,
    End.DIED: Fate.DIED,
    End.UNACCOUNTED: Fate.UNACCOUNTED,
    End.REMOVED: Fate.REMOVED,
    End.PRESENT: Fate.PRESENT,
}
ALLOCATION = (
    "Animals of a group are told apart by rules: the first to enter a stage leave it first, and the longest unseen are"
    " taken to have died first.",
    "A stage is taken to end after the animals were last witnessed in it, by the entry that says so.",
)


@lru_cache(maxsize=1 << 15)
def _ordinal(ms: int, zone: ZoneInfo) -> int:
    return day_of(ms, zone).toordinal()


@dataclass(frozen=True, slots=True)
class Colony:
    """The histories of all animals up to an instant, and what is needed to say them in days and names."""

    passages: tuple[Passage, ...]
    entries: Mapping[str, Entry]
    names: Mapping[str, str]
    zone: ZoneInfo

    def day(self, ms: int) -> int:
        """Return the keeper's calendar day of an instant, as an ordinal."""
        return _ordinal(ms, self.zone)

    def name(self, cohort: str) -> str:
        """Return what a cohort is called."""
        return self.names.get(cohort, "unknown")

    def of(self, cohort: str) -> tuple[Passage, ...]:
        """Return the passages of one cohort; of all where none is named."""
        return tuple(p for p in self.passages if cohort in ("", p.cohort))

    def cohorts(self, first: int, last: int) -> list[str]:
        """Return the cohorts with animals on any of the days, as ordinals, in the order they came."""
        came: dict[str, int] = {}
        for p in self.passages:
            is_there = p.left_ms is None or self.day(p.left_ms) >= first
            if p.cohort and is_there and self.day(p.came_ms) <= last:
                came[p.cohort] = min(came.get(p.cohort, p.came_ms), p.came_ms)
        return sorted(came, key=lambda cohort: (came[cohort], self.name(cohort), cohort))

    def causes(self, passage: Passage) -> str:
        """Return why an animal left: the cause of death as logged, else what its end is called."""
        entry = self.entries.get(passage.event)
        if entry is None or passage.end is not End.DIED:
            return str(passage.end)
        if entry.kind in ("cannibalism", "failed_moult", "unhatched"):
            return entry.kind
        return _text(entry.fields.get("cause")) or "unknown"


def colony_of(services: Services, to_ms: int) -> Colony:
    """Return the histories of all animals as the log tells them up to an instant."""
    kinds = services.catalog.vocabulary.kinds.values()
    witnesses = [kind.name for kind in kinds if kind.witness is not Witness.NONE]
    entries = list(booked_events(services.store, witnesses, to_ms))
    names = {cohort.id: cohort.shown for cohort in reading.entities(services.store, "cohort")}
    by_id = {entry.event: entry for entry in entries}
    return Colony(walk(entries, services.catalog.vocabulary), by_id, names, zone_of(services))


def stays_of(colony: Colony, passages: Iterable[Passage]) -> list[Stay]:
    """Return passages as stays in stages, in calendar days.

    Where it is not known when animals entered a stage, the stay began at any time before they came: its length is
    then known to be at least what was seen of it, and no more.
    """
    stays = []
    for p in passages:
        after = -math.inf if p.entered_ms is None else float(colony.day(_or(p.entered_after_ms, p.entered_ms)))
        by = colony.day(_or(p.entered_ms, p.came_ms))
        left_after = colony.day(p.left_after_ms)
        left_by = colony.day(_or(p.left_ms, p.left_after_ms))
        entered = Span(after, by)
        left = Span(max(left_after, by) if p.left_ms is None else left_after, max(left_by, by))
        stays.append(Stay(p.cohort, p.stage, entered, left, _FATES[p.end], p.n))
    return stays


def _or(first: int | None, second: int) -> int:
    return second if first is None else first


def _has_died(passage: Passage, missing: Missing) -> bool:
    return passage.end is End.DIED or (passage.end is End.UNACCOUNTED and missing is Missing.DEAD)


def lives_of(colony: Colony, passages: Iterable[Passage], missing: Missing) -> list[Life]:
    """Return the lives of animals from the day they came, for the product-limit curve.

    A death counts on the day it was found, one on the day of coming as half a day; whoever lives, left or counts as
    censored was last known alive when last witnessed.
    """
    lives = []
    for p in passages:
        if not p.is_last:
            continue
        died = _has_died(p, missing)
        until = _or(p.left_ms, p.left_after_ms) if died else p.left_after_ms
        days = max(float(colony.day(until) - colony.day(p.came_ms)), _HALF_DAY)
        lives.append(Life(days, died, p.n))
    return lives


def between_of(colony: Colony, passages: Iterable[Passage], missing: Missing) -> list[Between]:
    """Return the days between which animals died, counted from the day they came."""
    rows = []
    for p in passages:
        if not p.is_last:
            continue
        came = colony.day(p.came_ms)
        seen = float(max(0, colony.day(p.left_after_ms) - came))
        by = float(colony.day(_or(p.left_ms, p.left_after_ms)) - came) if _has_died(p, missing) else math.inf
        rows.append(Between(seen, max(seen, by), p.n))
    return rows


@dataclass(frozen=True, slots=True)
class CohortTable:
    """A cohort's life table by age in days since it came, and the eggs that its females laid at each age."""

    table: LifeTable
    n_at_risk: tuple[int, ...]
    eggs: tuple[int, ...]
    from_egg: bool


def cohort_table(colony: Colony, cohort: str) -> CohortTable | None:
    """Return the life table of one cohort, both sexes together; None without animals.

    Notes
    -----
    Ages are the days on which something was found: a death, a clutch. lx is the product-limit share alive as the day
    begins, missing animals counted as dead; mx the eggs laid that day for each animal still followed, so that lx mx
    adds up to eggs for each animal that the cohort began with. Eggs count where the log names the cohort as mother.
    A cohort that did not begin as eggs counts age from the day it came, as does each later batch of animals.
    """
    passages = [p for p in colony.of(cohort) if p.n > 0]
    lives = lives_of(colony, passages, Missing.DEAD)
    if not lives:
        return None
    came = min(p.came_ms for p in passages)
    curve = survival_curve(lives)
    laid = _laid_by(colony, cohort, colony.day(came))
    last = max(life.left for life in lives)
    births: dict[float, int] = {}
    for age, n_eggs in laid.items():
        births[min(age, last)] = births.get(min(age, last), 0) + n_eggs
    ages = sorted({0.0, last, *curve.days, *births})
    at_risk = [sum(life.n for life in lives if life.left >= age) for age in ages]
    alive = [curve.at(age - _HALF_DAY / 2) for age in ages]
    eggs = [births.get(age, 0) for age in ages]
    per_head = [n / k for n, k in zip(eggs, at_risk, strict=True)]
    table = life_table(ages, alive, per_head)
    return CohortTable(table, tuple(at_risk), tuple(eggs), any(p.stage is Stage.EGG for p in passages))


def _laid_by(colony: Colony, cohort: str, came: int) -> dict[float, int]:
    """Return the eggs that a cohort's females laid, by age in days."""
    laid: dict[float, int] = {}
    for entry in colony.entries.values():
        n = entry.fields.get("n")
        if entry.kind == "laid" and entry.fields.get("mother") == cohort and isinstance(n, int):
            age = float(max(0, colony.day(entry.at_ms) - came))
            laid[age] = laid.get(age, 0) + n
    return laid


def _text(value: Json) -> str:
    return value if isinstance(value, str) else ""


def most_eggs_of(colony: Colony, cohorts: Sequence[str]) -> str:
    """Return the cohort whose females laid the most eggs, empty where none is known to have laid."""
    laid = {cohort: sum(_laid_by(colony, cohort, 0).values()) for cohort in cohorts}
    return max(cohorts, key=lambda cohort: laid[cohort]) if any(laid.values()) else ""
