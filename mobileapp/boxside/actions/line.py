"""The line: who descends from whom, how related the living are, and how it will go on."""

from __future__ import annotations

import math
from collections.abc import Mapping

from boxside.actions.line_layout import generations, places
from boxside.actions.line_outlook import generation_rows, newcomer_lines, outlooks, sizes
from boxside.actions.line_sound import SoundLine, sound_line
from boxside.actions.services import Services
from boxside.core.breeding import Diversity, living_diversity
from boxside.core.values.line_view import CohortRow, LineEdge, LineNode, LineView
from boxside.core.values.lineage import Cohort, CohortKind, Living, Parents
from boxside.core.values.stages import Stage

EMPTY = "No cohort has been logged. Add founders, or a box with animals, and the line begins."
_TRACE = 1e-9
_WORDS = {
    CohortKind.FOUNDERS: "founders",
    CohortKind.OFFSPRING: "offspring",
    CohortKind.BLEND: "blend",
    CohortKind.GROUP: "received",
    CohortKind.INDIVIDUAL: "individual",
}


def line_view(services: Services) -> LineView:
    """Return the whole line as the log has it."""
    line = sound_line(services)
    if not line.known.cohorts:
        return LineView((), (), (), (), None, None, None, None, None, (), (), (), empty=EMPTY)
    shown = [cohort for cohort in line.known.cohorts if line.shown(cohort.id)]
    generation = generations(line.known.cohorts)
    now = living_diversity(line.known, line.living) if line.living else None
    rows = generation_rows(line, generation)
    size_now, size_overall = sizes(rows)
    edges = tuple(edge for cohort in shown for edge in _edges(line, cohort))
    return LineView(
        nodes=_nodes(line, shown, generation, edges),
        edges=edges,
        cohorts=tuple(_cohort_row(line, cohort, generation) for cohort in shown),
        generations=rows,
        size_now=size_now,
        size_overall=size_overall,
        gene_diversity=now.gene_diversity if now else None,
        mean_kinship=now.mean_kinship if now else None,
        founder_genomes=now.founder_genomes if now else None,
        outlooks=outlooks(now, rows) if now else (),
        newcomers=newcomer_lines(now, rows) if now else (),
        notes=_notes(line, now),
    )


def _notes(line: SoundLine, now: Diversity | None) -> tuple[str, ...]:
    notes = []
    if line.facts.unknown:
        notes.append("Unknown parents count as unrelated founders: the true kinship may be higher.")
    if line.with_eggs:
        notes.append("Only eggs are alive; they count as animals until the first have hatched.")
    if now is None:
        notes.append("Nothing of the line is alive, so there is no gene diversity to speak of.")
    notes.append("Expected values: real animals vary around them. Effective sizes take equal families.")
    return tuple(notes)


def _edges(line: SoundLine, cohort: Cohort) -> list[LineEdge]:
    """Edges to the cohort from those it came of; several pools of one cohort make one edge."""
    sides = (("female", cohort.dams), ("male", cohort.sires))
    found: dict[tuple[str, str], LineEdge] = {}
    for sex, parents in sides:
        for source in parents.sources if parents else ():
            total = sum(_raw(other.weight, other.n) for other in parents.sources) if parents else 1.0
            sure = parents is not None and len(parents.sources) == 1
            _join(found, LineEdge(line.at(source.cohort), cohort.id, sex, _raw(source.weight, source.n) / total, sure))
    for source in cohort.parts:
        total = sum(_raw(other.weight, other.n) for other in cohort.parts)
        _join(found, LineEdge(line.at(source.cohort), cohort.id, "", _raw(source.weight, source.n) / total, True))
    return list(found.values())


def _join(found: dict[tuple[str, str], LineEdge], edge: LineEdge) -> None:
    key = (edge.parent, edge.sex)
    before = found[key].weight if key in found else 0.0
    found[key] = LineEdge(edge.parent, edge.child, edge.sex, before + edge.weight, edge.sure)


def _raw(weight: float | None, n: int) -> float:
    return weight if weight is not None else float(n or 1)


def _nodes(
    line: SoundLine, shown: list[Cohort], generation: Mapping[str, int], edges: tuple[LineEdge, ...]
) -> tuple[LineNode, ...]:
    names = [cohort.id for cohort in shown]
    at = places(names, generation, [(edge.parent, edge.child) for edge in edges])
    heads = {name: head_count(line, name) for name in names}
    most = max((n for n, _ in heads.values()), default=0)
    return tuple(_node(line, cohort, generation, at[cohort.id], heads[cohort.id], most) for cohort in shown)


def _node(
    line: SoundLine,
    cohort: Cohort,
    generation: Mapping[str, int],
    at: tuple[float, float],
    heads: tuple[int, int],
    most: int,
) -> LineNode:
    n, n_eggs = heads
    unknown = cohort.id in line.facts.unknown
    return LineNode(
        id=_id(line, cohort.id),
        name=cohort.id,
        kind=cohort.kind.value,
        generation=generation[cohort.id],
        x=at[0],
        y=at[1],
        n=n,
        n_eggs=n_eggs,
        size=math.sqrt(n / most) if most else 0.0,
        unknown=unknown,
        label="?" if unknown else cohort.id,
        detail=f"{_heads_text(n, n_eggs)}, F {line.known.f(cohort.id):.3f}",
    )


def _id(line: SoundLine, name: str) -> str:
    origin = line.facts.origins.get(name)
    return origin.id if origin else name


def head_count(line: SoundLine, name: str) -> tuple[int, int]:
    """Return the animals of a cohort now, eggs among them, and how many of these are eggs."""
    own = [head for head in line.heads if line.facts.names.get(head.cohort) == name]
    return sum(head.n for head in own), sum(head.n for head in own if head.stage is Stage.EGG)


def _heads_text(n: int, n_eggs: int) -> str:
    if n == 0:
        return "none alive"
    if n_eggs == n:
        return f"{n} eggs"
    return f"{n} alive" + (f", {n_eggs} of them eggs" if n_eggs else "")


def mean_to_living(line: SoundLine, name: str) -> float | None:
    """Return the kinship of a random member of a cohort to a random living animal, itself included where it lives."""
    n = sum(item.n for item in line.living)
    if n == 0:
        return None
    to_all = sum(item.n * line.known.k(name, item.cohort) for item in line.living)
    own = line.known.s(name) - line.known.w(name) if _lives(line.living, name) else 0.0
    return (to_all + own) / n


def _lives(living: tuple[Living, ...], name: str) -> bool:
    return any(item.cohort == name and item.n for item in living)


def _cohort_row(line: SoundLine, cohort: Cohort, generation: Mapping[str, int]) -> CohortRow:
    name = cohort.id
    shares = line.known.shares[line.known.row(name)].tolist()
    founders = sorted(zip(line.known.founder_ids, shares, strict=True), key=lambda item: (-item[1], item[0]))
    n, n_eggs = head_count(line, name)
    kinship = mean_to_living(line, name)
    to_rest = f", mean kinship {kinship:.3f}" if kinship is not None else ""
    parents = parents_text(line, cohort)
    text = f"{name}: {_WORDS[cohort.kind]}, {_heads_text(n, n_eggs)}. F {line.known.f(name):.3f}{to_rest}."
    origin = line.facts.origins.get(name)
    return CohortRow(
        id=_id(line, name),
        name=name,
        kind=cohort.kind.value,
        generation=generation[name],
        born_on=origin.born_on if origin and origin.kind == "laid" else None,
        n=n,
        inbreeding=line.known.f(name),
        within=line.known.w(name),
        mean_kinship=kinship,
        founder_shares=tuple((founder, share) for founder, share in founders if share > _TRACE),
        parents=parents,
        text=text,
        notes=tuple(line.facts.notes.get(name, ())),
        unknown=name in line.facts.unknown,
    )


def parents_text(line: SoundLine, cohort: Cohort) -> str:
    """Return the origin of a cohort in words."""
    if cohort.parts:
        return "from " + " and ".join(line.at(source.cohort) for source in cohort.parts)
    if cohort.dams is None or cohort.sires is None:
        return "unknown" if cohort.id in line.facts.unknown else "founders"
    fathers = cohort.dams.n_parents * cohort.males_per_clutch
    is_one = fathers == 1 and cohort.sires.n_parents > 1
    return f"{_side(line, cohort.dams, 'female')} with {'one of ' if is_one else ''}{_side(line, cohort.sires, 'male')}"


def _side(line: SoundLine, parents: Parents, word: str) -> str:
    names = list(dict.fromkeys(line.at(source.cohort) for source in parents.sources))
    if all(name in line.facts.unknown for name in names):
        return f"unknown {word}s"
    n = parents.n_parents
    return f"{n} {word}{'' if n == 1 else 's'} of {' or '.join(names)}"


def line_json(services: Services) -> dict[str, object]:
    """Return the line as plain data, for programs; ids are the names that other commands take."""
    view = line_view(services)
    return {
        "cohorts": [
            {
                "id": row.name,
                "uuid": None if row.unknown else row.id,
                "kind": row.kind,
                "generation": row.generation,
                "n": row.n,
                "F": row.inbreeding,
                "within": row.within,
                "mean_kinship": row.mean_kinship,
                "founder_shares": dict(row.founder_shares),
                "parents": row.parents,
                "unknown": row.unknown,
                "notes": list(row.notes),
            }
            for row in view.cohorts
        ],
        "ne": view.size_overall,
        "ne_now": view.size_now,
        "generations": [
            {"generation": row.generation, "n_dams": row.n_dams, "n_sires": row.n_sires, "ne": row.size}
            for row in view.generations
        ],
        "gene_diversity": view.gene_diversity,
        "mean_kinship": view.mean_kinship,
        "founder_genomes": view.founder_genomes,
        "ahead": [
            {"name": item.name, "n_dams": item.n_dams, "n_sires": item.n_sires, "left": dict(item.left)}
            for item in view.outlooks
        ],
        "newcomers": list(view.newcomers),
        "notes": list(view.notes),
    }


def line_text(services: Services) -> list[str]:
    """Return the line in lines of text."""
    view = line_view(services)
    if view.empty:
        return [view.empty]
    lines = []
    for row in view.cohorts:
        if not row.unknown:
            lines.append(f"{row.generation}  {row.text}  ({row.parents})")
            lines += [f"     {note}" for note in row.notes]
    lines += [row.text for row in view.generations]
    if view.gene_diversity is not None:
        over = f" Effective size over all generations {view.size_overall:.1f}." if view.size_overall else ""
        lines.append(f"Gene diversity of the living {view.gene_diversity:.3f} of the founders' source.{over}")
    return [*lines, *(item.text for item in view.outlooks), *view.newcomers, *view.notes]
