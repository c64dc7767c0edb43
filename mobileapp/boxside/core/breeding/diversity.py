"""What of the founders' gene diversity is alive, and what will be left if the line is bred as now.

References
----------
Lacy R.C. 1989, Analysis of founder representation in pedigrees: founder equivalents and founder genome
equivalents, Zoo Biology 8:111-123. Lacy R.C. 1995, Clarification of genetic terms and their use in the
management of captive populations, Zoo Biology 14:565-577 (mean kinship, gene diversity).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.breeding.draw import Floats
from boxside.core.breeding.kinship import Kinships
from boxside.core.breeding.size import effective_number
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import EVERY_MALE, CohortKind, Living


@dataclass(frozen=True, slots=True)
class Diversity:
    """The living animals as one gene pool.

    Parameters
    ----------
    n : animals alive
    mean_kinship : of two random animals, one and the same included
    within : of two distinct animals
    inbreeding : mean F of the living
    cohort_kinship : (cohort, mean kinship of its members to the living), lowest first: these are most
    precious founder_shares : (founding cohort, share of the living genes)
    founder_equivalents : equal founders that would give these shares
    """

    n: int
    mean_kinship: float
    within: float
    inbreeding: float
    cohort_kinship: tuple[tuple[str, float], ...]
    founder_shares: tuple[tuple[str, float], ...]
    founder_equivalents: float

    @property
    def gene_diversity(self) -> float:
        """Expected heterozygosity relative to the source of the founders, 1 - mean kinship."""
        return 1.0 - self.mean_kinship

    @property
    def founder_genomes(self) -> float:
        """Founder genome equivalents: unrelated founders that would hold as much diversity."""
        return founder_genomes(self.mean_kinship)


@dataclass(frozen=True, slots=True)
class Scheme:
    """How each generation is bred: `n_dams` equal families, `n_sires`, males to a clutch (0: every male)."""

    n_dams: int
    n_sires: int
    males_per_clutch: int = 1


def founder_genomes(mean_kinship: float) -> float:
    """Return 1 / (2 mean kinship), the number of unrelated animals with the same gene diversity."""
    if not 0 < mean_kinship <= 1:
        raise EntryError("A mean kinship lies above 0 and is at most 1.")
    return 1.0 / (2.0 * mean_kinship)


def living_diversity(known: Kinships, living: Sequence[Living]) -> Diversity:
    """Return what the living animals hold.

    Raises
    ------
    EntryError : if nothing is alive or a cohort is not in the line

    Notes
    -----
    Founders of one cohort are taken to have given equally, so `founder_equivalents` is an upper bound.
    """
    counts = np.zeros(len(known.cohorts))
    for item in living:
        counts[known.row(item.cohort)] += item.n
    n = float(counts.sum())
    if n < 1 or counts.min() < 0:
        raise EntryError("No living animal of the line is recorded, so nothing can be said of its diversity.")
    own = (1.0 + known.inbreeding) / 2.0
    to_living = known.between @ counts + (own - known.between.diagonal())
    mean = float(counts @ to_living) / n**2
    self_part = float(counts @ own) / n
    within = (mean * n - self_part) / (n - 1.0) if n > 1 else float("nan")
    shares = counts @ known.shares / n
    alive = [i for i in range(len(counts)) if counts[i] > 0]
    ranked = sorted((float(to_living[i]) / n, known.cohorts[i].id) for i in alive)
    return Diversity(
        int(n),
        mean,
        within,
        float(counts @ known.inbreeding) / n,
        tuple((name, value) for value, name in ranked),
        tuple(zip(known.founder_ids, shares.tolist(), strict=True)),
        effective_number(_shares_by_founder(known, shares)),
    )


def _shares_by_founder(known: Kinships, shares: Floats) -> list[float]:
    """Share of each founding animal; a cohort of unknown size counts as two, a pair."""
    sizes = [cohort.size or 2 for cohort in known.cohorts if cohort.kind is CohortKind.FOUNDERS]
    return [float(share) / size for share, size in zip(shares, sizes, strict=True) for _ in range(size)]


def kinship_ahead(within: float, inbreeding: float, scheme: Scheme, n_generations: int) -> Floats:
    """Return the kinship of two distinct animals now and after 1, 2, ... generations bred by `scheme`.

    Parameters
    ----------
    within, inbreeding : of the pool that the next parents are drawn from
    n_generations : how far ahead

    Returns
    -------
    (n_generations + 1,) : the first is `within`

    Notes
    -----
    Discrete generations, one pool, parents drawn at random from it, families equal. One dam and one sire
    give the classical series of full sibs.
    """
    _check_scheme(scheme)
    values = np.empty(n_generations + 1)
    values[0] = within
    for t in range(n_generations):
        within, inbreeding = _next(within, inbreeding, scheme), within
        values[t + 1] = within
    return values


def _next(within: float, inbreeding: float, scheme: Scheme) -> float:
    own = (1.0 + inbreeding) / 2.0
    p_dam = 1.0 / scheme.n_dams
    p_sire = same_sire(scheme)
    pairs = (p_dam + p_sire) * own + (2.0 - p_dam - p_sire) * within
    return pairs / 4.0 + within / 2.0


def same_sire(scheme: Scheme) -> float:
    """Return the chance that two offspring share their sire."""
    p_dam, even = 1.0 / scheme.n_dams, 1.0 / scheme.n_sires
    males = scheme.n_sires if scheme.males_per_clutch == EVERY_MALE else scheme.males_per_clutch
    return p_dam / min(males, scheme.n_sires) + (1.0 - p_dam) * even


def diversity_ahead(now: Diversity, scheme: Scheme, at: Sequence[int] = (1, 5, 10)) -> tuple[tuple[int, float], ...]:
    """Return (generation, gene diversity) if the living pool is bred by `scheme` from now on.

    The diversity is 1 - kinship of two distinct offspring, the limit for a large generation.
    """
    if now.n < 2:
        raise EntryError("One animal cannot be bred. Nothing can be said of later generations.")
    ahead = kinship_ahead(now.within, now.inbreeding, scheme, max(at))
    return tuple((t, 1.0 - float(ahead[t])) for t in at)


def _check_scheme(scheme: Scheme) -> None:
    if scheme.n_dams < 1 or scheme.n_sires < 1 or scheme.males_per_clutch < 0:
        raise EntryError("A generation needs at least one female and one male.")
