"""Who is in which stage since when: the animals of one cohort, stage and sex in one box."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from boxside.actions.context import setting, today, zone_of
from boxside.actions.services import Services
from boxside.core.development import Started
from boxside.core.values.ledger import Line
from boxside.core.values.moments import day_of
from boxside.core.values.stages import Sex, Stage
from boxside.store import outlook, reading
from boxside.store.outlook import First
from boxside.store.reading import Entity

# What a keeper logs when they looked into a box closely enough to have seen that a stage was over.
LOOKS = ("looked", "seen", "count", "hatched", "prepupa", "pupated", "sexed", "emerged")
# Larvae that eat, moult or are moved are larvae still.
_LARVAL = (*LOOKS, "fed", "moulted", "in_moult", "appetite", "transfer", "measured", "rest_began", "rest_ended")
_BRIEF = (Stage.EGG, Stage.PREPUPA, Stage.PUPA)


@dataclass(frozen=True, slots=True)
class Group:
    """Animals of one cohort, stage and sex in one box.

    `started` is when the stage began, None where nobody can know; `looked_on` the last look at them; `instar` the
    highest among larvae and `youngest` the lowest (0 unknown).
    """

    box: Entity
    cohort: str
    name: str
    species: str
    stage: Stage
    sex: Sex
    n: int
    instar: int
    youngest: int
    started: Started | None
    looked_on: date

    @property
    def area(self) -> str:
        """The id of the area in which the box stands, empty for none."""
        return str(self.box.data.get("area") or "")


@dataclass(frozen=True, slots=True)
class Firsts:
    """When cohorts first had animals of a stage, by stage (and sex, empty for any) and cohort."""

    by_stage: Mapping[tuple[str, str], Mapping[str, First]]
    zone: ZoneInfo

    def began(self, stage: Stage, sex: str = "") -> Mapping[str, First]:
        """Return the first booking into a stage of every cohort that has any."""
        return self.by_stage.get((str(stage), sex), {})

    def of(self, cohort: str, stage: Stage, sex: str = "") -> First | None:
        """Return the first booking of a cohort into a stage, None where there was none."""
        return self.began(stage, sex).get(cohort)

    def day(self, cohort: str, stage: Stage, sex: str = "") -> date | None:
        """Return its day."""
        first = self.of(cohort, stage, sex)
        return day_of(first.at_ms, self.zone) if first else None

    def hatched_on(self, cohort: str) -> date | None:
        """Return when a cohort's first larvae hatched: seen here, or received in their first instar; else None."""
        first, laid = self.of(cohort, Stage.LARVA), self.of(cohort, Stage.EGG)
        if first is None or not (first.instar == 1 or (laid is not None and laid.at_ms <= first.at_ms)):
            return None
        return day_of(first.at_ms, self.zone)


def firsts_of(services: Services) -> Firsts:
    """Return the first bookings of all cohorts."""
    found: dict[tuple[str, str], dict[str, First]] = {}
    for first in outlook.first_stages(services.store):
        found.setdefault((first.stage, first.sex), {})[first.cohort] = first
    return Firsts(found, zone_of(services))


def stage_groups(
    services: Services, firsts: Firsts, boxes: Mapping[str, Entity], cohorts: Mapping[str, Entity]
) -> tuple[Group, ...]:
    """Return everybody in the open boxes by box, cohort, stage and sex; a handful of statements in all."""
    lines = reading.lines(services.store, list(boxes))
    zone, day = zone_of(services), today(services)
    close = _looked(services, LOOKS, zone)
    at_larvae = _looked(services, _LARVAL, zone)
    begun = _entries(services, [line for held in lines.values() for line, _ in held], zone)
    usual = setting(services, "species")
    groups: list[Group] = []
    for box_id, box in boxes.items():
        for (cohort, stage, sex), n, instars in _told_apart(lines[box_id]):
            started = _started(cohort, stage, begun, firsts)
            if stage is Stage.EGG and _hatching(cohort, started, firsts):
                continue
            entity = cohorts.get(cohort)
            said = entity.data.get("species") if entity else None
            looked = (at_larvae if stage is Stage.LARVA else close).get(box_id, date.min)
            since = min(max(looked, started.to_on if started else looked), day)
            groups.append(
                Group(
                    box,
                    cohort,
                    entity.shown if entity else "",
                    said if isinstance(said, str) else usual,
                    stage,
                    sex,
                    n,
                    max(instars),
                    min(instars),
                    started,
                    since,
                )
            )
    return tuple(groups)


def _looked(services: Services, kinds: Sequence[str], zone: ZoneInfo) -> dict[str, date]:
    return {box: day_of(ms, zone) for box, ms in outlook.last_looks(services.store, kinds).items()}


def _told_apart(held: Sequence[tuple[Line, int]]) -> Iterator[tuple[tuple[str, Stage, Sex], int, list[int]]]:
    """Yield (cohort, stage, sex), number and instars; eggs and larvae are not told apart by sex."""
    sums: dict[tuple[str, Stage, Sex], tuple[int, list[int]]] = {}
    for line, n in held:
        sex = Sex.UNKNOWN if line.stage in (Stage.EGG, Stage.LARVA) else line.sex
        key = (line.cohort, line.stage, sex)
        before, instars = sums.get(key, (0, []))
        sums[key] = (before + n, [*instars, line.instar])
    for key, (n, instars) in sums.items():
        yield key, n, instars


def _entries(services: Services, lines: Sequence[Line], zone: ZoneInfo) -> dict[tuple[str, Stage], Started]:
    """Return between which days the animals of each cohort began each brief stage."""
    cohorts = sorted({line.cohort for line in lines if line.stage in _BRIEF and line.cohort})
    days: dict[tuple[str, Stage], list[date]] = {}
    for entry in outlook.stage_entries(services.store, cohorts, [str(stage) for stage in _BRIEF]):
        days.setdefault((entry.cohort, Stage(entry.stage)), []).append(day_of(entry.at_ms, zone))
    return {key: Started(min(found), max(found)) for key, found in days.items()}


def _started(cohort: str, stage: Stage, begun: Mapping[tuple[str, Stage], Started], firsts: Firsts) -> Started | None:
    """Return when a stage began; of larvae only where they came from eggs here, or as hatchlings."""
    if stage is Stage.LARVA:
        hatched = firsts.hatched_on(cohort)
        return Started(hatched, hatched) if hatched else None
    return begun.get((cohort, stage))


def _hatching(cohort: str, started: Started | None, firsts: Firsts) -> bool:
    """Return whether larvae of a clutch were there after its last eggs were laid: what was expected is there."""
    hatched = firsts.day(cohort, Stage.LARVA)
    return hatched is not None and started is not None and hatched >= started.to_on
