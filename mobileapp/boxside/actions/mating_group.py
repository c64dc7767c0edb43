"""Males and females together: who was with whom, bringing them together, parting them, and whose a clutch is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boxside.actions.context import today, zone_of
from boxside.actions.entry import box_label, named_entity
from boxside.actions.line_facts import LineFacts, line_facts
from boxside.actions.log_event import log_all, log_event, saved
from boxside.actions.services import Services
from boxside.actions.stays import Stay, by_box, stay_at, stays_of
from boxside.actions.wording import day_text
from boxside.core.values.dusk import Candidate, MatingGroup
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.line_view import Parent
from boxside.core.values.moments import day_of
from boxside.core.values.stages import Sex
from boxside.core.values.views import Saved
from boxside.store import lineage

LAID_BY = {"female": "one female", "group": "all females of the group", "some": "some of these females"}
_AFTER_MOVES = 9  # behind every phase of a visit that begins at the same instant


def mating_groups(services: Services, box: str = "") -> tuple[MatingGroup, ...]:
    """Return every stay in which females and males were together, newest first; of one box if it is named."""
    moves = by_box(lineage.adult_moves(services.store))
    facts = line_facts(services)
    clutches = _clutches(services, facts)
    groups = []
    for name in [box] if box else list(moves):
        for stay in stays_of(moves, name):
            laid = clutches.get((name, stay.since), [])
            if stay.males or laid:
                groups.append(_group(services, facts, stay, laid))
    return tuple(sorted(groups, key=lambda group: (group.since, group.label), reverse=True))


def _clutches(services: Services, facts: LineFacts) -> dict[tuple[str, lineage.Place], list[tuple[str, str, str]]]:
    found: dict[tuple[str, lineage.Place], list[tuple[str, str, str]]] = {}
    for origin in facts.origins.values():
        if origin.stay:
            dams = facts.claims[origin.name][0] if origin.name in facts.claims else None
            whose = f"{dams.n} of {max(dams.n, dams.n_possible)} females" if dams else ""
            found.setdefault((origin.stay.box, origin.stay.since), []).append((origin.id, origin.name, whose))
    return found


def _group(services: Services, facts: LineFacts, stay: Stay, laid: Sequence[tuple[str, str, str]]) -> MatingGroup:
    zone, now = zone_of(services), today(services)
    since = day_of(stay.since[2], zone)
    until = day_of(stay.until[2], zone) if stay.until else None
    females = _candidates(facts, stay.females, Sex.FEMALE, "in the box")
    males = _candidates(facts, stay.males, Sex.MALE, "with the females")
    end = f" to {day_text(until, now)}" if until else ""
    eggs = f"; clutches {', '.join(name for _, name, _ in laid)}" if laid else ""
    text = f"{_who(females, 'female')} with {_who(males, 'male')} from {day_text(since, now)}{end}{eggs}."
    label = box_label(services, stay.box)
    return MatingGroup(stay.box, label, since, until, females, males, tuple(laid), text)


def _who(candidates: Sequence[Candidate], word: str) -> str:
    n = sum(candidate.n for candidate in candidates)
    if not n:
        return f"no {word}"
    cohorts = " and ".join(candidate.cohort for candidate in candidates)
    return f"{n} {word}{'' if n == 1 else 's'} of {cohorts}"


def _candidates(facts: LineFacts, numbers: Mapping[str, int], sex: Sex, why: str) -> tuple[Candidate, ...]:
    return tuple(
        Candidate(cohort, facts.names.get(cohort, "unknown"), sex.value, n, why)
        for cohort, n in sorted(numbers.items(), key=lambda item: (-item[1], item[0]))
    )


def possible_parents(services: Services, box: str, at_ms: int | None = None) -> tuple[Candidate, ...]:
    """Return who may be the dams and sires of eggs laid in a box at an instant, or now; females first."""
    moves = by_box(lineage.adult_moves(services.store))
    asked_ms = services.clock.now_ms() + 1 if at_ms is None else at_ms
    stay = stay_at(moves, box, (asked_ms, _AFTER_MOVES, asked_ms, ""))
    if stay is None:
        return ()
    facts = line_facts(services)
    said = "" if stay.are_sexed else ", not sexed"
    return _candidates(facts, stay.females, Sex.FEMALE, f"in the box{said}") + _candidates(
        facts, stay.males, Sex.MALE, f"with the females since the first of them came{said}"
    )


def introduce(services: Services, box: str, from_box: str, n: int = 1, cohort: str = "", sex: str = "male") -> Saved:
    """Bring males to females, or females to males.

    Raises
    ------
    EntryError : if fewer are there than are to be introduced, or the boxes are the same; nothing was saved
    """
    fields: dict[str, Json] = {"from_box": from_box, "n": n, "introduced_sex": sex, "cohort": cohort or None}
    return log_event(services, Draft("introduced", "box", box, fields))


def separate(services: Services, box: str, to_box: str, n: int | None = None, sex: str = "male") -> Saved:
    """Part a pairing: move the males (or the females) to another box, all of them if no number is given."""
    if to_box == box:
        raise EntryError("Parting animals needs another box. Nothing was saved. Choose one, or make one.")
    fields: dict[str, Json] = {"to_box": to_box, "n": n, "separated_sex": sex}
    return log_event(services, Draft("separated", "box", box, fields))


def set_parents(
    services: Services,
    clutch: str,
    parents: Sequence[Parent],
    laid_by: str = "",
    n_dams: int | None = None,
    n_sires: int | None = None,
    males_per_clutch: int | None = None,
) -> Saved:
    """Say whose a clutch is: a female's, a whole group's, or that of some of these.

    Parameters
    ----------
    clutch : id or name of the cohort
    parents : possible dams and sires; `n` how many come into question, or chances as `weight`
    laid_by : female, group, some; empty where the numbers say enough
    n_dams, n_sires : how many of them bred, if that is known

    Raises
    ------
    EntryError : for a circle of descent, a parent younger than its offspring, more parents than there were
    """
    if laid_by and laid_by not in LAID_BY:
        raise EntryError(f"Laid by {laid_by!r}: say {', '.join(LAID_BY)}. Nothing was saved.")
    cohort = named_entity(services, "cohort", clutch)
    parts: list[Json] = [
        {
            "cohort": named_entity(services, "cohort", parent.cohort),
            "sex": parent.sex,
            **({"n": parent.n} if parent.n else {}),
            **({"weight": parent.weight} if parent.weight is not None else {}),
        }
        for parent in parents
    ]
    fields: dict[str, Json] = {
        "parents": parts, "laid_by": laid_by or ("some" if n_dams else None), "n_dams": n_dams, "n_sires": n_sires,
        "males_per_clutch": males_per_clutch,
    }  # fmt: skip
    (event,) = log_all(services, [Draft("cohort_changed", "cohort", cohort, fields)])
    return saved(services, event, (), was_due=False)
