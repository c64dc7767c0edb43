"""Kinship between cohorts, exact in expectation.

For cohorts A, B: k(A, B) is the mean kinship of a random member of each, w(A) that of two distinct members
of A, F(A) the mean inbreeding and s(A) = (1 + F(A)) / 2 the mean kinship of a member with itself. All of
them follow from parents to offspring by linear rules, because kinship is linear in whom a gene came from and
members of a cohort are exchangeable.

References
----------
Malécot G. 1948, Les mathématiques de l'hérédité (kinship as the chance of identity by descent).
Henderson C.R. 1988, Use of an average numerator relationship matrix for multiple-sire joining,
Journal of Animal Science 66:1614-1621 (parents known only by chance).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from boxside.core.breeding.draw import Floats, draw_of, mates_kinship, source_weights, within_offspring
from boxside.core.breeding.order import check_cohort, ordered_line
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import DRAWN_KINDS, EVERY_MALE, Cohort, CohortKind, Parents


@dataclass(frozen=True, slots=True)
class Kinships:
    """Relatedness of all cohorts of a line.

    Parameters
    ----------
    cohorts : the line, parents first
    position : row of each cohort id
    between : (n, n), kinship of two distinct random members, k off the diagonal and w on it
    inbreeding : (n,), mean inbreeding F
    founder_ids : the founding cohorts
    shares : (n, founding cohorts), share of the genes that descend from each; rows add up to 1
    """

    cohorts: tuple[Cohort, ...]
    position: Mapping[str, int]
    between: Floats
    inbreeding: Floats
    founder_ids: tuple[str, ...]
    shares: Floats

    def row(self, cohort: str) -> int:
        """Return the row of a cohort; EntryError if the line has none of that name."""
        if cohort not in self.position:
            raise EntryError(f"The line has no cohort {cohort}. Add it with its parents first.")
        return self.position[cohort]

    def k(self, a: str, b: str) -> float:
        """Return the kinship of a random member of `a` and another of `b`; of two distinct ones if `a` is
        `b`.

        This is also the expected inbreeding of offspring of the two.
        """
        return float(self.between[self.row(a), self.row(b)])

    def w(self, a: str) -> float:
        """Return the kinship of two distinct members of `a`."""
        return self.k(a, a)

    def f(self, a: str) -> float:
        """Return the mean inbreeding of `a`."""
        return float(self.inbreeding[self.row(a)])

    def s(self, a: str) -> float:
        """Return the mean kinship of a member of `a` with itself, (1 + F) / 2."""
        return (1.0 + self.f(a)) / 2.0


def kinships(cohorts: Sequence[Cohort]) -> Kinships:
    """Return the kinship of all cohorts of a line, given in the order in which they came to be.

    Raises
    ------
    EntryError : if the line cannot be true (see `ordered_line`), or needs two animals of a cohort of one

    Notes
    -----
    The order matters in one case only: where parents stay in their cohort, a group that is drawn from it before the
    breeding does not hold them, one that is drawn afterwards may. Offspring given before their parents are put right.
    Time and memory grow with the square of the number of cohorts: 1,000 take a fraction of a second and 8 MB.
    Expectations only: actual kinship varies around them, more so where few loci or few offspring matter.
    """
    line = ordered_line(cohorts)
    n = len(line)
    founder_ids = tuple(cohort.id for cohort in line if cohort.kind is CohortKind.FOUNDERS)
    between, inbreeding, shares = np.zeros((n, n)), np.zeros(n), np.zeros((n, len(founder_ids)))
    position: dict[str, int] = {}
    for i, cohort in enumerate(line):
        part = Kinships(line[:i], position, between[:i, :i], inbreeding[:i], founder_ids, shares[:i])
        node = _node(part, cohort)
        between[i, :i] = between[:i, i] = node.row
        between[i, i], inbreeding[i], shares[i] = node.within, node.inbreeding, node.shares
        position[cohort.id] = i
    return Kinships(line, position, between, inbreeding, founder_ids, shares)


def with_cohort(known: Kinships, cohort: Cohort) -> Kinships:
    """Return `known` with one more cohort, whose origins it already holds; nothing known is computed again.

    Raises
    ------
    EntryError : if the id is taken or the cohort cannot be as described
    """
    if cohort.id in known.position:
        raise EntryError(f"Cohort {cohort.id} is in the line already. Nothing was changed. Choose another name.")
    check_cohort(cohort, {name: known.cohorts[i] for name, i in known.position.items()})
    n = len(known.cohorts)
    if cohort.kind is CohortKind.FOUNDERS:
        shares = np.hstack([known.shares, np.zeros((n, 1))])
        known = replace(known, founder_ids=(*known.founder_ids, cohort.id), shares=shares)
    node = _node(known, cohort)
    between = np.empty((n + 1, n + 1))
    between[:n, :n] = known.between
    between[n, :n] = between[:n, n] = node.row
    between[n, n] = node.within
    return Kinships(
        (*known.cohorts, cohort),
        {**known.position, cohort.id: n},
        between,
        np.append(known.inbreeding, node.inbreeding),
        known.founder_ids,
        np.vstack([known.shares, node.shares]),
    )


def paternity_range(known: Kinships, cohort: Cohort) -> tuple[float, float, float]:
    """Return w of a cohort of offspring as (least, as entered, most), over how many males may share a clutch.

    Least if every egg may have any of the males, most if one male sired each whole clutch. `cohort` may or
    may not be in `known`; its parents must be.
    """
    if cohort.dams is None or cohort.sires is None:
        raise EntryError(f"{cohort.id} is no offspring: its paternity is not in question.")
    values = [
        within_offspring(known, replace(cohort, males_per_clutch=males))
        for males in (EVERY_MALE, cohort.males_per_clutch, 1)
    ]
    return min(values), values[1], max(values)


@dataclass(frozen=True, slots=True)
class _Node:
    row: Floats
    within: float
    inbreeding: float
    shares: Floats


def _node(known: Kinships, cohort: Cohort) -> _Node:
    if cohort.kind is CohortKind.FOUNDERS:
        return _founders(known, cohort)
    if cohort.kind is CohortKind.OFFSPRING:
        return _offspring(known, cohort)
    return _taken(known, cohort)


def _founders(known: Kinships, cohort: Cohort) -> _Node:
    row = np.zeros(len(known.position))
    for name, value in cohort.related:
        row[known.row(name)] = value
    shares = np.array([float(name == cohort.id) for name in known.founder_ids])
    return _Node(row, cohort.within, cohort.inbreeding, shares)


def _offspring(known: Kinships, cohort: Cohort) -> _Node:
    if cohort.dams is None or cohort.sires is None:
        raise EntryError(f"Cohort {cohort.id} needs dams and sires.")
    row = _to_all(known, cohort.dams) + _to_all(known, cohort.sires)
    own = _mean_of(known.shares, known, cohort.dams) + _mean_of(known.shares, known, cohort.sires)
    inbreeding = mates_kinship(known, cohort.dams, cohort.sires, cohort.id)
    return _Node(row / 2.0, within_offspring(known, cohort), inbreeding, own / 2.0)


def _mean_of(table: Floats, known: Kinships, parents: Parents) -> Floats:
    """Rows of a table, weighted by what each source gives; reads those rows only."""
    mean: Floats = source_weights(parents) @ table[_rows(known, parents)]
    return mean


def _rows(known: Kinships, parents: Parents) -> NDArray[np.intp]:
    return np.array([known.row(source.cohort) for source in parents.sources], dtype=np.intp)


def _to_all(known: Kinships, parents: Parents) -> Floats:
    """Kinship of this sex of parents to every cohort.

    To its own cohort a parent has w once it is out of it. While it is still one of the N in there, a random
    member is that very parent with chance 1/N, and then the kinship is s.
    """
    row = _mean_of(known.between, known, parents)
    for source, weight in zip(parents.sources, source_weights(parents), strict=True):
        i = known.row(source.cohort)
        origin = known.cohorts[i]
        among = source.among
        if among is None:
            among = origin.size if origin.kind in DRAWN_KINDS or origin.size == 1 else 0
        if among:
            row[i] += weight * ((1.0 + known.inbreeding[i]) / 2.0 - known.between[i, i]) / among
    return row


def _taken(known: Kinships, cohort: Cohort) -> _Node:
    """A mixture, or a draw from one cohort: members keep their kinship to everyone else."""
    parts = Parents(cohort.parts, n=max(cohort.size, 1))
    draw = draw_of(known, parts, f"blend {cohort.id}") if len(cohort.parts) > 1 else None
    i = known.row(cohort.parts[0].cohort)
    within = draw.distinct if draw else float(known.between[i, i])
    inbreeding = float(source_weights(parts) @ known.inbreeding[_rows(known, parts)])
    row, shares = _mean_of(known.between, known, parts), _mean_of(known.shares, known, parts)
    return _Node(row, within, inbreeding, shares)
