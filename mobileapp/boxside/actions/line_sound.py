"""The line put in order: what contradicts itself in the log is set aside and said, never refused.

Entries are checked when they are made (`boxside.actions.line_entry`). Two keepers' logs may still contradict each other
once they are merged, so here a cohort whose origin cannot be true counts as founders, with a note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from boxside.actions.line_facts import LineFacts, line_facts
from boxside.actions.services import Services
from boxside.core.breeding import Kinships, check_cohort, kinships
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import Cohort, CohortKind, Living
from boxside.core.values.stages import Sex, Stage
from boxside.store import lineage
from boxside.store.lineage import Heads


@dataclass(frozen=True, slots=True)
class SoundLine:
    """The line with its kinship; `facts` say where it came from, `living` what is alive, by name."""

    facts: LineFacts
    known: Kinships
    heads: tuple[Heads, ...]
    living: tuple[Living, ...]
    with_eggs: bool

    def shown(self, name: str) -> bool:
        """Return whether a cohort is drawn: not the animals that were merely together in one box."""
        return name not in self.facts.pools

    def at(self, name: str) -> str:
        """Return the cohort to show for a name: that of the animals that were together, else itself."""
        return self.facts.pools.get(name, name)


def sound_line(services: Services) -> SoundLine:
    """Return the line of the log, contradictions set aside."""
    facts = line_facts(services)
    known = sound_kinships(facts)
    heads = tuple(lineage.heads(services.store))
    living, with_eggs = living_of(facts, heads)
    return SoundLine(facts, known, heads, living, with_eggs)


def sound_kinships(facts: LineFacts) -> Kinships:
    """Return the kinship of all cohorts; those that cannot be true become founders, with a note in `facts`."""
    try:
        return kinships(facts.cohorts)
    except EntryError:
        facts.cohorts = _sound(facts)
    for _ in range(len(facts.cohorts) + 1):
        try:
            return kinships(facts.cohorts)
        except EntryError as error:
            _set_first_aside(facts, str(error))
    return kinships(facts.cohorts)


def _sound(facts: LineFacts) -> list[Cohort]:
    """Add one cohort after another, each once its origins are in; a circle is cut at the oldest entry in it."""
    waiting, done = list(facts.cohorts), dict[str, Cohort]()
    while waiting:
        ready = next((cohort for cohort in waiting if _names(cohort) <= done.keys()), None)
        cohort = ready or waiting[0]
        waiting.remove(cohort)
        done[cohort.id] = _checked(facts, cohort, done)
    return list(done.values())


def _names(cohort: Cohort) -> set[str]:
    return {source.cohort for source in cohort.sources} | {name for name, _ in cohort.related}


def _checked(facts: LineFacts, cohort: Cohort, done: dict[str, Cohort]) -> Cohort:
    try:
        check_cohort(cohort, done)
    except EntryError as error:
        return _aside(facts, cohort, str(error))
    return cohort


def _aside(facts: LineFacts, cohort: Cohort, why: str) -> Cohort:
    facts.note(cohort.id, f"Its origin was set aside and it counts as unrelated founders: {why}")
    facts.claims.pop(cohort.id, None)
    return Cohort(cohort.id, CohortKind.FOUNDERS, size=cohort.size, born_on=cohort.born_on)


def _set_first_aside(facts: LineFacts, why: str) -> None:
    """Numbers that only the arithmetic refuses, such as two fathers from a cohort of one: set that cohort aside."""
    for i, cohort in enumerate(facts.cohorts):
        if cohort.kind is CohortKind.FOUNDERS:
            continue
        try:
            kinships(facts.cohorts[: i + 1])
        except EntryError:
            facts.cohorts[i] = _aside(facts, cohort, why)
            return
    facts.cohorts = [_without_relations(cohort) for cohort in facts.cohorts]


def _without_relations(cohort: Cohort) -> Cohort:
    return replace(cohort, related=(), within=0.0, inbreeding=0.0)


def living_of(facts: LineFacts, heads: Sequence[Heads]) -> tuple[tuple[Living, ...], bool]:
    """Return the living animals by cohort, and whether these are eggs: they count only where nothing has hatched."""
    known = [head for head in heads if head.cohort in facts.names]
    born = [head for head in known if head.stage is not Stage.EGG]
    counted = born or known
    found: dict[str, dict[Sex, int]] = {}
    for head in counted:
        by_sex = found.setdefault(facts.names[head.cohort], dict.fromkeys(Sex, 0))
        by_sex[head.sex] += head.n
    living = [Living(name, n[Sex.MALE], n[Sex.FEMALE], n[Sex.UNKNOWN]) for name, n in sorted(found.items())]
    return tuple(living), not born and bool(known)
