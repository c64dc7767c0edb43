"""Who is adult when: broods that emerged, how long they usually live, and pupae that will follow."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxside.actions.context import profile, zone_of
from boxside.actions.services import Services
from boxside.core.values.lineage import Window
from boxside.core.values.moments import day_of
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Sex, Stage
from boxside.store import lineage, reading
from boxside.store.lineage import AdultMove, Heads


@dataclass(frozen=True, slots=True)
class Emerged:
    """Living adults of one cohort and sex that emerged on one day, from the shortest to the longest usual life."""

    cohort: str
    sex: Sex
    n: int
    on: date
    dies_from: date
    dies_by: date
    expected: bool = False

    @property
    def window(self) -> Window:
        """The days on which they can mate, at most."""
        return Window(self.on, self.dies_by)


def living_broods(services: Services, moves: Sequence[AdultMove], heads: Sequence[Heads]) -> list[Emerged]:
    """Return the living adults by cohort, sex and day of emergence, oldest first.

    Notes
    -----
    Adults of one cohort and sex are not told apart: the first to emerge are taken to have died first (common
    practice, no source).
    """
    zone = zone_of(services)
    came: dict[tuple[str, Sex], list[tuple[date, int]]] = {}
    for ms, cohort, sex, n in emergences(moves):
        came.setdefault((cohort, sex), []).append((day_of(ms, zone), n))
    found = []
    for (cohort, sex), n in _adults(heads).items():
        own = came.get((cohort, sex), [])
        unsexed = came.get((cohort, Sex.UNKNOWN), []) if sex is not Sex.UNKNOWN else []
        low, high = lifetime(species_profile(services, cohort), sex)
        for day, left in _youngest(n, own, unsexed):
            found.append(Emerged(cohort, sex, left, day, day + timedelta(low), day + timedelta(high)))
    return sorted(found, key=lambda brood: (brood.on, brood.cohort, brood.sex))


def emergences(moves: Iterable[AdultMove]) -> list[tuple[int, str, Sex, int]]:
    """Return (instant, cohort, sex, n) of adults that appeared: what events add over all boxes, not what they move."""
    net: dict[tuple[str, str], dict[Sex, int]] = {}
    at: dict[str, int] = {}
    for move in moves:
        by_sex = net.setdefault((move.event, move.cohort), {})
        by_sex[move.sex] = by_sex.get(move.sex, 0) + move.delta
        at[move.event] = move.place[2]
    found = []
    for (event, cohort), by_sex in net.items():
        extra = sum(by_sex.values())
        for sex, n in by_sex.items():
            if extra > 0 and n > 0:
                found.append((at[event], cohort, sex, n))
    return sorted(found, key=lambda item: item[0])


def lifetime(own: Profile, sex: Sex) -> tuple[int, int]:
    """Return how many days adults of a sex usually live, shortest and longest."""
    return own.duration_days(Stage.ADULT, sex)


def species_profile(services: Services, cohort: str) -> Profile:
    """Return the profile of a cohort's species."""
    entity = reading.entity(services.store, "cohort", cohort)
    species = entity.data.get("species") if entity else None
    return profile(services, species if isinstance(species, str) else "")


def _adults(heads: Sequence[Heads]) -> dict[tuple[str, Sex], int]:
    found: dict[tuple[str, Sex], int] = {}
    for head in heads:
        if head.stage is Stage.ADULT:
            key = (head.cohort, head.sex)
            found[key] = found.get(key, 0) + head.n
    return found


def _youngest(n: int, own: Sequence[tuple[date, int]], more: Sequence[tuple[date, int]]) -> list[tuple[date, int]]:
    """The n that emerged last; of those sexed later, the day on which they emerged unsexed."""
    found: dict[date, int] = {}
    for day, came in [*sorted(own, reverse=True), *sorted(more, reverse=True)]:
        left = min(n, came)
        if left:
            found[day] = found.get(day, 0) + left
        n -= left
    return sorted(found.items())


def expected_broods(services: Services, heads: Sequence[Heads]) -> list[Emerged]:
    """Return the sexed pupae as the adults that they will be, at the middle of the usual length of the pupal stage.

    Notes
    -----
    Days from the profile, from the last time that animals pupated in the box; the days may be off by the spread.
    """
    pupae = [head for head in heads if head.stage is Stage.PUPA and head.sex is not Sex.UNKNOWN]
    since = lineage.pupated_ms(services.store, sorted({head.box for head in pupae}))
    zone = zone_of(services)
    found: dict[tuple[str, Sex, date], int] = {}
    for head in pupae:
        if head.box in since:
            low, high = species_profile(services, head.cohort).duration_days(Stage.PUPA, head.sex)
            on = day_of(since[head.box], zone) + timedelta((low + high) // 2)
            found[head.cohort, head.sex, on] = found.get((head.cohort, head.sex, on), 0) + head.n
    return [_expected(services, cohort, sex, on, n) for (cohort, sex, on), n in sorted(found.items())]


def _expected(services: Services, cohort: str, sex: Sex, on: date, n: int) -> Emerged:
    low, high = lifetime(species_profile(services, cohort), sex)
    return Emerged(cohort, sex, n, on, on + timedelta(low), on + timedelta(high), expected=True)


def where(services: Services, heads: Sequence[Heads]) -> Mapping[tuple[str, Sex], tuple[str, ...]]:
    """Return the codes of the boxes in which adults and pupae of a cohort and sex are."""
    found: dict[tuple[str, Sex], list[str]] = {}
    for head in heads:
        if head.stage in (Stage.ADULT, Stage.PUPA):
            box = reading.entity(services.store, "box", head.box)
            found.setdefault((head.cohort, head.sex), []).append(box.shown if box else head.box[:8])
    return {key: tuple(sorted(set(codes))) for key, codes in found.items()}
