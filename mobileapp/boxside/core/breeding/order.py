"""Whether a line can be true, and the order in which parents stand before their offspring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import DRAWN_KINDS, Cohort, CohortKind, Living, Parents, Source
from boxside.core.values.stages import Sex

_SUM_TOLERANCE = 1e-6


def ordered_line(cohorts: Sequence[Cohort]) -> tuple[Cohort, ...]:
    """Return the cohorts with every parent before its offspring, else in the order given.

    Raises
    ------
    EntryError : for an id used twice, a parent that is not in the line, a circle of descent, a parent younger
        than its offspring, and whatever `check_cohort` refuses
    """
    by_id: dict[str, Cohort] = {}
    for cohort in cohorts:
        if cohort.id in by_id:
            raise EntryError(f"Cohort {cohort.id} is in the line twice. Nothing was changed. Rename one of them.")
        by_id[cohort.id] = cohort
    for cohort in cohorts:
        check_cohort(cohort, by_id)
    return _sorted(cohorts, by_id)


def check_cohort(cohort: Cohort, others: Mapping[str, Cohort]) -> None:
    """Raise EntryError, with the reason, if the cohort cannot be as described given the cohorts it names."""
    for name in _names(cohort):
        if name not in others:
            raise EntryError(
                f"Cohort {cohort.id} names {name} as its origin, but the line has no {name}. "
                "Nothing was changed. Add that cohort first, or choose another."
            )
    _CHECKS[cohort.kind](cohort)
    _check_ages(cohort, others)
    _check_numbers(cohort, others)


def check_introduction(living: Living, sex: Sex, n: int) -> None:
    """Raise EntryError if more males or females are to be introduced than the cohort has.

    Unsexed animals do not count: whoever is introduced has been sexed.
    """
    has = living.males if sex is Sex.MALE else living.females
    if n < 1:
        raise EntryError(f"{n} animals of {living.cohort} cannot be introduced. Enter one or more.")
    if n > has:
        raise EntryError(
            f"{n} {sex.value}s of {living.cohort} were to be introduced, but only {has} {_exist(has)}. "
            "Nothing was saved. "
            "Count again, or log their emergence first."
        )


def _exist(n: int) -> str:
    return "exists" if n == 1 else "exist"


def _names(cohort: Cohort) -> tuple[str, ...]:
    return tuple(source.cohort for source in cohort.sources) + tuple(name for name, _ in cohort.related)


def _sorted(cohorts: Sequence[Cohort], by_id: Mapping[str, Cohort]) -> tuple[Cohort, ...]:
    """Depth first without recursion: a line of hundreds of generations must not meet the recursion limit."""
    done: dict[str, Cohort] = {}
    for cohort in cohorts:
        path: dict[str, None] = {}
        stack = [cohort.id]
        while stack:
            name = stack[-1]
            missing = [] if name in done else [x for x in _names(by_id[name]) if x not in done]
            if not missing:
                done.setdefault(name, by_id[stack.pop()])
                path.pop(name, None)
                continue
            path[name] = None
            circle = [x for x in missing if x in path]
            if circle:
                raise EntryError(_circle_text(list(path), circle[0]))
            stack.append(missing[0])
    return tuple(done.values())


def _circle_text(path: list[str], start: str) -> str:
    loop = " from ".join([*path[path.index(start) :], start])
    return f"A cohort cannot descend from itself: {loop}. Nothing was changed. Correct one of these parents."


def _check_offspring(cohort: Cohort) -> None:
    for parents, word in ((cohort.dams, "females"), (cohort.sires, "males")):
        if parents is None or not parents.sources:
            raise EntryError(f"Cohort {cohort.id} has no {word} as parents. Name them, or call the cohort founders.")
        if parents.n_parents < 1:
            raise EntryError(f"Cohort {cohort.id} needs the number of its {word}, one or more. Enter it.")
        _check_weights(cohort.id, parents.sources)
        _check_shares(cohort.id, parents, word)
    if cohort.parts:
        raise EntryError(f"Cohort {cohort.id} cannot be offspring and a mixture at once. Choose one.")
    if cohort.males_per_clutch < 0:
        raise EntryError(f"Cohort {cohort.id}: {cohort.males_per_clutch} males to a clutch is not a number of males.")


def _check_shares(name: str, parents: Parents, word: str) -> None:
    shares = parents.family_shares
    if not shares:
        return
    if len(shares) != parents.n_parents:
        raise EntryError(
            f"Cohort {name} has {parents.n_parents} {word} but {len(shares)} family shares. Give one share for each."
        )
    if min(shares) < 0 or abs(sum(shares) - 1) > _SUM_TOLERANCE:
        raise EntryError(f"Family shares of cohort {name} must be 0 or more and add up to 1; they are {shares}.")
    if any(source.weight is not None for source in parents.sources) and parents.counted:
        raise EntryError(f"Cohort {name} has family shares and weights of its {word}. Give one of the two.")


def _check_blend(cohort: Cohort) -> None:
    if not cohort.parts or cohort.dams or cohort.sires:
        raise EntryError(f"Blend {cohort.id} must name the cohorts it was mixed from, and no parents.")
    _check_weights(cohort.id, cohort.parts)


def _check_drawn(cohort: Cohort) -> None:
    if len(cohort.parts) != 1 or cohort.dams or cohort.sires:
        raise EntryError(f"{cohort.id} must be taken from exactly one cohort; of several, make a blend first.")
    if cohort.size < 1 or (cohort.kind is CohortKind.INDIVIDUAL and cohort.size != 1):
        raise EntryError(f"{cohort.id} is {cohort.kind.value} of {cohort.size}. Enter how many animals it has.")


def _check_founders(cohort: Cohort) -> None:
    if cohort.sources:
        raise EntryError(f"Founders {cohort.id} cannot have parents in the line. Call them offspring, or remove these.")
    values = (cohort.within, cohort.inbreeding, *(value for _, value in cohort.related))
    if not all(0 <= value <= 1 for value in values):
        raise EntryError(f"Kinship among founders of {cohort.id} must lie between 0 and 1.")


_CHECKS = {
    CohortKind.FOUNDERS: _check_founders,
    CohortKind.OFFSPRING: _check_offspring,
    CohortKind.BLEND: _check_blend,
    CohortKind.GROUP: _check_drawn,
    CohortKind.INDIVIDUAL: _check_drawn,
}


def _check_weights(name: str, sources: Sequence[Source]) -> None:
    given = [source.weight for source in sources if source.weight is not None]
    if given and len(given) < len(sources):
        raise EntryError(f"Cohort {name}: give a weight for every origin, or for none.")
    if any(not 0 < weight < float("inf") for weight in given):
        raise EntryError(f"Cohort {name}: a weight must be greater than 0; leave out an origin that gave nothing.")
    if any(source.n < 0 for source in sources):
        raise EntryError(f"Cohort {name}: an origin cannot give fewer than 0 animals.")


def _check_ages(cohort: Cohort, others: Mapping[str, Cohort]) -> None:
    """Parents are born before their offspring; what is mixed or drawn was there on that day at the latest."""
    if cohort.born_on is None:
        return
    for source in cohort.sources:
        born_on = _born_on(others[source.cohort], others)
        if born_on is None or born_on < cohort.born_on:
            continue
        if cohort.kind is CohortKind.OFFSPRING or (cohort.kind not in DRAWN_KINDS and born_on > cohort.born_on):
            raise EntryError(
                f"{source.cohort} (born {born_on}) cannot be an origin of {cohort.id} (born "
                f"{cohort.born_on}): "
                "it is not older. Nothing was changed. Correct one of the two dates."
            )


def _born_on(cohort: Cohort, others: Mapping[str, Cohort]) -> date | None:
    """A group or an individual is as old as the cohort it was drawn from."""
    seen = {cohort.id}
    while cohort.born_on is None and cohort.kind in DRAWN_KINDS and cohort.parts[0].cohort in others:
        cohort = others[cohort.parts[0].cohort]
        if cohort.id in seen:  # a circle: reported where the line is put in order
            return None
        seen.add(cohort.id)
    return cohort.born_on


def _check_numbers(cohort: Cohort, others: Mapping[str, Cohort]) -> None:
    """No more animals are taken from a cohort, over both sexes, than it ever had."""
    taken: dict[str, int] = {}
    for source, n in _taken(cohort):
        taken[source.cohort] = taken.get(source.cohort, 0) + n
    for name, n in taken.items():
        size = others[name].size
        if size and n > size:
            raise EntryError(
                f"{cohort.id} takes {n} animals from {name}, but only {size} {_exist(size)} there. "
                "Nothing was changed. Correct one of the two numbers."
            )


def _taken(cohort: Cohort) -> list[tuple[Source, int]]:
    if cohort.kind in DRAWN_KINDS:
        return [(cohort.parts[0], cohort.size)]
    taken = [(source, source.n) for source in cohort.parts]
    for parents in (cohort.dams, cohort.sires):
        if parents is None:
            continue
        sure = parents.n if len(parents.sources) == 1 and not parents.counted else 0
        taken += [(source, source.n or sure) for source in parents.sources]
    return taken
