"""How the line was bred, how it would go on, and what would do better."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boxside.actions.line_sound import SoundLine
from boxside.core.breeding import (
    Diversity,
    Scheme,
    diversity_ahead,
    kinship_with_newcomers,
    newcomers_as_equals,
    newcomers_each_generation,
    newcomers_once,
    size_from_sexes,
    size_over_generations,
)
from boxside.core.values.line_view import GenerationRow, Outlook
from boxside.core.values.lineage import Cohort, CohortKind
from boxside.core.values.stages import Sex

AHEAD = (1, 5, 10)
# The usual aim is to keep 90 % of gene diversity: Soulé et al. 1986, see boxside.core.breeding.size.
TARGET_KINSHIP = 0.1
_MORE_FAMILIES = 10


def generation_rows(line: SoundLine, generation: Mapping[str, int]) -> tuple[GenerationRow, ...]:
    """Return how many dams and sires each generation had, and its effective size.

    Notes
    -----
    Clutches of one box share their males, which are counted once; of males that only may be fathers no more
    count than there are clutches. Families are taken as equal: unequal ones make the true size smaller.
    """
    by_generation: dict[int, list[Cohort]] = {}
    for cohort in line.known.cohorts:
        if cohort.kind is CohortKind.OFFSPRING:
            by_generation.setdefault(generation[cohort.id], []).append(cohort)
    return tuple(_row(line, n, bred) for n, bred in sorted(by_generation.items()))


def _row(line: SoundLine, generation: int, bred: Sequence[Cohort]) -> GenerationRow:
    dams = _parents(line, bred, Sex.FEMALE)
    sires = _parents(line, bred, Sex.MALE)
    size = size_from_sexes(sires, dams)
    text = f"Generation {generation}: {_of(dams, 'female')} and {_of(sires, 'male')} bred, effective size {size:.1f}."
    return GenerationRow(generation, dams, sires, size if size > 0 else None, text)


def _of(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"


def _parents(line: SoundLine, bred: Sequence[Cohort], sex: Sex) -> int:
    """Distinct animals of one sex that bred, as far as can be told: those of one box or one mark count once."""
    most: dict[str, int] = {}
    n_free = 0
    n_clutches = 0
    for cohort in bred:
        parents = cohort.dams if sex is Sex.FEMALE else cohort.sires
        if parents is None:
            continue
        n_clutches += max(1, cohort.dams.n_parents if cohort.dams else 1) * max(1, cohort.males_per_clutch)
        shared = [s.cohort for s in parents.sources if s.cohort in line.facts.pools or _is_one(line, s.cohort)]
        if len(shared) == len(parents.sources):
            for source in parents.sources:
                most[source.cohort] = max(most.get(source.cohort, 0), source.n or parents.n)
        else:
            n_free += min(parents.n_parents, _possible(cohort, sex))
    together = sum(most.values())
    return n_free + (min(together, n_clutches) if sex is Sex.MALE else together)


def _is_one(line: SoundLine, name: str) -> bool:
    return line.known.cohorts[line.known.row(name)].kind is CohortKind.INDIVIDUAL


def _possible(cohort: Cohort, sex: Sex) -> int:
    """A clutch of one female has no more fathers than males are taken to share it."""
    if sex is Sex.FEMALE or cohort.dams is None or not cohort.males_per_clutch:
        return 1 << 30
    return cohort.dams.n_parents * cohort.males_per_clutch


def sizes(rows: Sequence[GenerationRow]) -> tuple[float | None, float | None]:
    """Return the effective size of the newest generation and the harmonic mean over all."""
    known = [row.size for row in rows if row.size]
    if not known:
        return None, None
    return rows[-1].size, size_over_generations(known)


def outlooks(now: Diversity, rows: Sequence[GenerationRow]) -> tuple[Outlook, ...]:
    """Return what 1, 5 and 10 generations leave, bred as now and with better choices."""
    if now.n < 2:
        return ()
    dams, sires = (rows[-1].n_dams, rows[-1].n_sires) if rows else (1, 1)
    equal = max(dams, sires)
    many = max(_MORE_FAMILIES, 2 * equal)
    found = [_outlook(now, "as now", dams, sires)]
    if dams != sires:
        found.append(_outlook(now, "as many males as females", equal, equal))
    found.append(_outlook(now, f"{many} families", many, many))
    found.append(_outlook(now, "one new pair each generation", max(2, dams), max(2, sires), (1, 1)))
    return tuple(found)


def _outlook(now: Diversity, name: str, dams: int, sires: int, new: tuple[int, int] = (0, 0)) -> Outlook:
    scheme = Scheme(dams, sires)
    if any(new):
        ahead = kinship_with_newcomers(now, scheme, *new, max(AHEAD))
        left = tuple((t, 1.0 - float(ahead[t])) for t in AHEAD)
    else:
        left = diversity_ahead(now, scheme, AHEAD)
    parts = ", ".join(f"{100 * share:.0f} % after {t}" for t, share in left)
    who = f"{_of(dams, 'female')} and {_of(sires, 'male')} a generation"
    return Outlook(name, dams, sires, new, left, f"{name[0].upper()}{name[1:]} ({who}): {parts} generations.")


def newcomer_lines(now: Diversity, rows: Sequence[GenerationRow]) -> tuple[str, ...]:
    """Return how many unrelated animals would bring the line to 90 % gene diversity, once or each generation."""
    if now.mean_kinship <= TARGET_KINSHIP:
        lines = ["The living hold at least 90 % of the founders' gene diversity: no newcomers are needed now."]
    else:
        best, equal = newcomers_once(now.mean_kinship, TARGET_KINSHIP), _as_equals(now)
        lines = [f"{_of(best, 'unrelated newcomer')} would bring the line to 90 %, if each breeds more than the rest."]
        lines += [f"Bred like all others, it takes {equal}."] if equal else []
    if rows and now.n >= 2:
        scheme = Scheme(max(1, rows[-1].n_dams), max(1, rows[-1].n_sires))
        each = newcomers_each_generation(now, scheme, TARGET_KINSHIP, max(AHEAD))
        females, males = each or (0, 0)
        lines.append(
            f"To stay there for ten generations: {_of(females, 'new female')} and {_of(males, 'new male')} each time."
            if each
            else "As few parents as now cannot hold 90 %, whoever they are: breed more of both sexes."
        )
    return tuple(lines)


def _as_equals(now: Diversity) -> int | None:
    return newcomers_as_equals(now.n, now.mean_kinship, TARGET_KINSHIP)
