"""What two offspring have in common through their dams, or through their sires."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import EVERY_MALE, Cohort, Parents

Floats = NDArray[np.float64]


class Known(Protocol):
    """The part of a kinship table that this needs: kinship of distinct members, inbreeding, rows, sizes."""

    @property
    def cohorts(self) -> tuple[Cohort, ...]:
        """The cohorts by row."""

    @property
    def between(self) -> Floats:
        """(n, n) kinship of two distinct members."""

    @property
    def inbreeding(self) -> Floats:
        """(n,) mean inbreeding."""

    def row(self, cohort: str) -> int:
        """Return the row of a cohort."""


@dataclass(frozen=True, slots=True)
class Draw:
    """Two independent draws of a parent of one sex.

    `same` is the chance that both are the same animal, `own` the mean kinship of a parent with itself,
    `distinct` that of two different parents, `pair` the mean kinship of the two draws, whoever they are.
    """

    same: float
    own: float
    distinct: float
    pair: float


def source_weights(parents: Parents) -> Floats:
    """Return the share of each source, (sources,), adding up to 1."""
    if parents.family_shares and parents.counted:
        return _sums_by_source(parents, np.array(parents.family_shares))
    if all(source.weight is None for source in parents.sources):
        raw = np.array([source.n if parents.counted else 1.0 for source in parents.sources], dtype=float)
    else:
        raw = np.array([source.weight for source in parents.sources], dtype=float)
    weights: Floats = raw / raw.sum()
    return weights


def draw_of(known: Known, parents: Parents, whose: str) -> Draw:
    """Return what two draws of a parent have in common.

    Parameters
    ----------
    known : kinship of the cohorts that the parents came from
    parents : of one sex; where the number from each source is known, it is used, else the cohort of each parent
        is an independent draw with the weights as chances
    whose : for the message if this cannot be

    Raises
    ------
    EntryError : if two different parents would have to come from a cohort of one
    """
    rows = np.array([known.row(source.cohort) for source in parents.sources], dtype=np.intp)
    weights = source_weights(parents)
    own = (1.0 + known.inbreeding[rows]) / 2.0
    between = known.between[np.ix_(rows, rows)]
    if parents.counted:
        return _counted(parents, weights, own, between)
    same = sum(share**2 for share in parents.family_shares) or 1.0 / parents.n
    if parents.n > 1:
        _refuse_single(known, parents, whose)
    mean_own, distinct = float(weights @ own), float(weights @ between @ weights)
    return Draw(same, mean_own, distinct, same * mean_own + (1.0 - same) * distinct)


def _counted(parents: Parents, weights: Floats, own: Floats, between: Floats) -> Draw:
    squares = _share_squares(parents, weights)
    same = float(squares.sum())
    different = float(weights @ between @ weights - squares @ between.diagonal())
    pair = float(squares @ own) + different
    distinct = different / (1.0 - same) if same < 1.0 else 0.0
    return Draw(same, float(weights @ own), distinct, pair)


def _share_squares(parents: Parents, weights: Floats) -> Floats:
    """(sources,), sum of the squared shares of the parents from each source."""
    if not parents.family_shares:
        squares: Floats = weights**2 / np.array([source.n for source in parents.sources])
        return squares
    return _sums_by_source(parents, np.array(parents.family_shares) ** 2)


def _sums_by_source(parents: Parents, by_parent: Floats) -> Floats:
    """(sources,), sums over the parents of each source, who stand in the order of the sources."""
    ends = np.cumsum([source.n for source in parents.sources])
    return np.array([part.sum() for part in np.split(by_parent, ends[:-1])])


def _refuse_single(known: Known, parents: Parents, whose: str) -> None:
    for source in parents.sources:
        if known.cohorts[known.row(source.cohort)].size == 1:
            raise EntryError(
                f"{whose} has {parents.n} parents of one sex that may all be {source.cohort}, which is one "
                "animal. "
                "Enter how many came from each, or one parent with chances."
            )


def within_offspring(known: Known, cohort: Cohort) -> float:
    """Return w, the kinship of two distinct offspring: DD/4 + SS/4 + DS/2.

    DD, SS and DS are the mean kinship of two dams, of two sires, of a dam and a sire, as two offspring draw
    them. Two offspring of one clutch share its dam; they share the sire too with chance 1 /
    `males_per_clutch`. Sires of different clutches are independent draws.

    Notes
    -----
    Clutch sizes are family shares, offspring independent draws from them. Which male sired which clutch is
    taken as unknown; where pairs are known, keep a cohort for each. With unequal shares of the males and two
    or more of them (not all) to a clutch, the shares within the clutch are taken as equal.
    """
    if cohort.dams is None or cohort.sires is None:
        raise EntryError(f"Cohort {cohort.id} needs dams and sires.")
    dams, sires = draw_of(known, cohort.dams, cohort.id), draw_of(known, cohort.sires, cohort.id)
    clutch = _same_clutch(sires, cohort.males_per_clutch, cohort.sires.n_parents)
    sire_pair = dams.same * clutch + (1.0 - dams.same) * sires.pair
    dam_sire = mates_kinship(known, cohort.dams, cohort.sires, cohort.id)
    return float(dams.pair / 4.0 + sire_pair / 4.0 + dam_sire / 2.0)


def _same_clutch(sires: Draw, males_per_clutch: int, n_sires: int) -> float:
    """Kinship of the sires of two eggs of one clutch."""
    if males_per_clutch == EVERY_MALE or males_per_clutch >= n_sires:
        return sires.pair
    return (sires.own + (males_per_clutch - 1) * sires.distinct) / males_per_clutch


def mates_kinship(known: Known, dams: Parents, sires: Parents, whose: str) -> float:
    """Return the mean kinship of a dam and a sire, which is the inbreeding of their offspring.

    Raises
    ------
    EntryError : if both would be one animal
    """
    rows = [[known.row(source.cohort) for source in parents.sources] for parents in (dams, sires)]
    for i in set(rows[0]) & set(rows[1]):
        if known.cohorts[i].size == 1:
            raise EntryError(f"{whose}: {known.cohorts[i].id} is one animal and cannot be dam and sire at once.")
    between = known.between[np.ix_(rows[0], rows[1])]
    return float(source_weights(dams) @ between @ source_weights(sires))
