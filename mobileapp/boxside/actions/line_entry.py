"""The door of the line: what cannot be true of parents and matings is refused in front of the keeper."""

from __future__ import annotations

from collections.abc import Mapping

from boxside.actions.line_facts import line_facts
from boxside.actions.line_sound import sound_kinships
from boxside.actions.services import Services
from boxside.core.breeding import check_introduction, ordered_line
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Event, Json
from boxside.core.values.lineage import Living
from boxside.core.values.stages import Sex, Stage
from boxside.store import lineage, reading

_DESCENT = frozenset({"parents", "related", "within", "n_dams", "n_sires", "laid_by", "males_per_clutch"})


def check_line(services: Services, event: Event) -> None:
    """Refuse what contradicts the line: circles, parents younger than their offspring, more males than there are.

    Raises
    ------
    EntryError : with the reason
    """
    if event.kind == "introduced":
        _check_introduced(services, event)
    elif event.kind in ("cohort_started", "cohort_changed") and _DESCENT & event.fields.keys():
        _check_parts(services, event)
        _check_descent(services, event)


def _check_introduced(services: Services, event: Event) -> None:
    """Animals that are introduced must be in the box they come from, as adults of that sex."""
    box, cohort = event.fields.get("from_box"), event.fields.get("cohort")
    sex, n = event.fields.get("introduced_sex"), event.fields.get("n")
    if box == event.subject_id:
        raise EntryError("Animals cannot be introduced from the box they are in. Nothing was saved.")
    there = dict.fromkeys(Sex, 0)
    for line, count in reading.lines(services.store, [str(box)])[str(box)]:
        if line.stage is Stage.ADULT and cohort in (None, line.cohort):
            there[line.sex] += count
    living = Living(_whose(services, str(box), cohort), there[Sex.MALE], there[Sex.FEMALE], there[Sex.UNKNOWN])
    check_introduction(living, Sex(str(sex)), n if isinstance(n, int) else 1)


def _whose(services: Services, box: str, cohort: Json) -> str:
    found = reading.entity(services.store, "box", box)
    code = found.shown if found else box[:8]
    named = reading.entity(services.store, "cohort", str(cohort)) if cohort else None
    return f"{named.label} in {code}" if named else code


def _check_parts(services: Services, event: Event) -> None:
    for part in _rows(event.fields.get("parents")):
        _known(services, part)
        _check_number(services, part)
        if part.get("sex") not in (None, Sex.FEMALE.value, Sex.MALE.value):
            raise EntryError(f"A parent is female or male, not {part.get('sex')!r}. Nothing was saved.")
        n, weight = part.get("n"), part.get("weight")
        if n is not None and (isinstance(n, bool) or not isinstance(n, int) or n < 1):
            raise EntryError(f"{n!r} is no number of parents. Nothing was saved. Enter one or more.")
        if weight is not None and (isinstance(weight, bool) or not isinstance(weight, (int, float)) or not weight > 0):
            raise EntryError(f"{weight!r} is no chance. Nothing was saved. Leave out who cannot be a parent.")
    for part in _rows(event.fields.get("related")):
        _known(services, part)
        value = part.get("kinship")
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 <= value <= 1:
            raise EntryError(f"Kinship lies between 0 and 1, not {value!r}. Nothing was saved.")


def _check_number(services: Services, part: Mapping[str, Json]) -> None:
    """Refuse more parents of a cohort than it ever held, where its animals were logged at all."""
    n, held = part.get("n"), lineage.ever_held(services.store, str(part.get("cohort")))
    if isinstance(n, int) and not isinstance(n, bool) and 0 < held < n:
        named = reading.entity(services.store, "cohort", str(part.get("cohort")))
        raise EntryError(
            f"{n} parents of {named.label if named else 'a cohort'} were entered, which never held more than {held} "
            "animals. Nothing was saved. Enter a number that fits, or correct the cohort's first."
        )


def _rows(value: Json) -> list[Mapping[str, Json]]:
    return [part for part in value if isinstance(part, dict)] if isinstance(value, list) else []


def _known(services: Services, part: Mapping[str, Json]) -> None:
    if reading.entity(services.store, "cohort", str(part.get("cohort"))) is None:
        raise EntryError(f"There is no cohort {part.get('cohort')!r}. Nothing was saved. Add it first.")


def _check_descent(services: Services, event: Event) -> None:
    """Put the cohort, as it would be, among all others as they are, and see whether that can be."""
    before = line_facts(services)
    sound_kinships(before)
    after = line_facts(services, event)
    name = after.names[event.subject_id]
    own = {cohort.id: cohort for cohort in after.cohorts}
    line = [own[name] if cohort.id == name else cohort for cohort in before.cohorts]
    there = {cohort.id for cohort in line}
    line += [cohort for cohort in after.cohorts if cohort.id not in there]
    ordered_line(line)
