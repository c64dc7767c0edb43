"""What stages need: the profile's figures, sharpened by the intervals that this colony has shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

from boxside.actions.climates import AreaRecord, area_record
from boxside.actions.context import profile, setting
from boxside.actions.services import Services
from boxside.actions.stage_groups import Firsts
from boxside.core.development import Need, learned_need
from boxside.core.values.forecast import DaysBand, PastInterval, ThermalNeed
from boxside.core.values.moments import day_of, local_ms
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Sex, Stage
from boxside.store import outlook, reading
from boxside.store.outlook import First
from boxside.store.reading import Entity

_NEXT = {
    Stage.EGG: (Stage.LARVA,),
    Stage.LARVA: (Stage.PREPUPA, Stage.PUPA),
    Stage.PREPUPA: (Stage.PUPA,),
    Stage.PUPA: (Stage.ADULT,),
}
# Mixed cohorts and marked individuals do not show when their stages began.
_NOT_OWN = ("blend", "individual")


@dataclass(slots=True)
class Needs:
    """Needs by species, stage, sex and, where warmth counts, area; each is learned once."""

    services: Services
    firsts: Firsts
    cohorts: Mapping[str, Entity]
    kept: dict[tuple[str, Stage, Sex, str], Need] = field(default_factory=dict)
    records: dict[str, AreaRecord] = field(default_factory=dict)
    own: dict[str, list[str]] = field(default_factory=dict)
    profiles: dict[str, Profile] = field(default_factory=dict)
    known: dict[tuple[str, Stage, Sex], DaysBand | ThermalNeed] = field(default_factory=dict)

    def profile(self, species: str) -> Profile:
        """Return a species' profile with the keeper's own numbers; each is read once."""
        if species not in self.profiles:
            self.profiles[species] = profile(self.services, species)
        return self.profiles[species]

    def record(self, area: str) -> AreaRecord:
        """Return an area's temperatures."""
        if area not in self.records:
            self.records[area] = area_record(self.services, area)
        return self.records[area]

    def is_thermal(self, species: str, stage: Stage, sex: Sex) -> bool:
        """Return whether a stage is counted in warmth instead of days."""
        return isinstance(self._declared(species, stage, sex), ThermalNeed)

    def _declared(self, species: str, stage: Stage, sex: Sex) -> DaysBand | ThermalNeed:
        key = (species, stage, sex)
        if key not in self.known:
            self.known[key] = self.profile(species).need_of(stage, sex)
        return self.known[key]

    def of(self, species: str, stage: Stage, sex: Sex, area: str) -> Need:
        """Return what animals of a stage need where they stand."""
        place = area if self.is_thermal(species, stage, sex) else ""
        key = (species, stage, sex, place)
        if key not in self.kept:
            known = self._declared(species, stage, sex)
            days = self.record(area).climate.days if isinstance(known, ThermalNeed) else ()
            seen = [one for one in self._seen(species, stage, sex) if not place or self._stood(one[1], place)]
            self.kept[key] = learned_need(known, [interval for interval, _ in seen], days)
        return self.kept[key]

    def _seen(self, species: str, stage: Stage, sex: Sex) -> Iterator[tuple[PastInterval, str]]:
        """Yield the colony's own intervals of a stage, one a cohort, with the box in which each ended."""
        began = self.firsts.began(stage)
        for cohort in self._own(species):
            found = self._interval(cohort, stage, sex) if cohort in began else None
            if found is not None:
                yield found

    def _own(self, species: str) -> list[str]:
        """Return the cohorts of a species whose stages can be learned from."""
        if species not in self.own:
            usual = setting(self.services, "species")
            self.own[species] = [
                name
                for name, cohort in self.cohorts.items()
                if str(cohort.data.get("species") or usual) == species and cohort.data.get("origin") not in _NOT_OWN
            ]
        return self.own[species]

    def _interval(self, cohort: str, stage: Stage, sex: Sex) -> tuple[PastInterval, str] | None:
        began = self.firsts.of(cohort, stage)
        if began is None or (stage is Stage.LARVA and self.firsts.hatched_on(cohort) is None):
            return None
        by_sex = "" if sex is Sex.UNKNOWN or stage is not Stage.PUPA else str(sex)
        ends = [end for later in _NEXT[stage] if (end := self.firsts.of(cohort, later, by_sex)) is not None]
        if not ends:
            return None
        ended = min(ends, key=lambda end: end.at_ms)
        zone = self.firsts.zone
        began_on, ended_on = day_of(began.at_ms, zone), day_of(ended.at_ms, zone)
        if ended_on <= began_on:
            return None
        return PastInterval(began_on, ended_on, self._gap(ended, began_on, ended_on)), ended.box

    def _gap(self, ended: First, began_on: date, ended_on: date) -> int:
        """Return how many days before the end nobody had stood at the box."""
        zone = self.firsts.zone
        before = outlook.last_visit_before(self.services.store, ended.box, local_ms(ended_on, 0, zone))
        last = day_of(before, zone) if before is not None else began_on
        return max((ended_on - max(last, began_on)).days, 1)

    def _stood(self, box: str, area: str) -> bool:
        entity = reading.entity(self.services.store, "box", box)
        return entity is not None and entity.data.get("area") == area
