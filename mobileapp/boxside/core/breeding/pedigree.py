"""Relationship of marked individuals by the tabular method, parents known only by chance included.

References
----------
Henderson C.R. 1976, A simple method for computing the inverse of a numerator relationship matrix used in
prediction of breeding values, Biometrics 32:69-83 (the table); Henderson C.R. 1988, Use of an average
numerator relationship matrix for multiple-sire joining, Journal of Animal Science 66:1614-1621 (several
possible sires).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.breeding.draw import Floats
from boxside.core.values.errors import EntryError

_TOLERANCE = 1e-9

Chances = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Animal:
    """A marked animal with its possible parents.

    Parameters
    ----------
    id : its mark
    dams, sires : (id, chance) of each possible parent; what is missing to 1 is an unknown, unrelated animal
    clutch : animals with the same clutch share the draw of the unknown dam and sire, and must have the same
        chances; empty for an animal whose parents are drawn on their own
    one_sire : whether one male sired the whole clutch (False: each egg draws its own)
    """

    id: str
    dams: Chances = ()
    sires: Chances = ()
    clutch: str = ""
    one_sire: bool = True


@dataclass(frozen=True, slots=True)
class Pedigree:
    """Kinship of marked animals: `kinship` is (n, n) with (1 + F) / 2 on the diagonal, rows by `ids`."""

    ids: tuple[str, ...]
    kinship: Floats

    @property
    def relationship(self) -> Floats:
        """(n, n), the numerator relationship matrix A, twice the kinship."""
        twice: Floats = 2.0 * self.kinship
        return twice

    @property
    def inbreeding(self) -> Floats:
        """(n,), F of each animal."""
        own: Floats = 2.0 * self.kinship.diagonal() - 1.0
        return own

    def k(self, a: str, b: str) -> float:
        """Return the kinship of two animals; of an animal with itself if `a` is `b`."""
        return float(self.kinship[self.ids.index(a), self.ids.index(b)])


def pedigree(animals: Sequence[Animal]) -> Pedigree:
    """Return the expected kinship of all animals, in the order given.

    Raises
    ------
    EntryError : for a mark used twice, an unknown parent, chances that do not fit, a circle of descent, or
        clutch-mates with different parents

    Notes
    -----
    Dam and sire are drawn independently: where two pairs are possible, but not their exchange, enter two
    animals' worth of chances only if that is acceptable. Selfing (dam = sire) is computed, although no
    beetle does it, since it is a classical check.
    """
    _check(animals)
    by_id = {animal.id: animal for animal in animals}
    order = _parents_first(animals, by_id)
    row = {name: i for i, name in enumerate(order)}
    table = np.zeros((len(order), len(order)))
    for i, name in enumerate(order):
        animal = by_id[name]
        dams, sires = _chances(animal.dams, row, len(order)), _chances(animal.sires, row, len(order))
        table[i, :i] = table[:i, i] = ((dams + sires) / 2.0 @ table)[:i]
        for j in _older_mates(animal, order[:i], by_id):
            table[i, j] = table[j, i] = _clutch_mates(animal, dams, sires, table)
        table[i, i] = (1.0 + dams @ table @ sires) / 2.0
    back = [row[animal.id] for animal in animals]
    return Pedigree(tuple(animal.id for animal in animals), table[np.ix_(back, back)])


def _older_mates(animal: Animal, older: Sequence[str], by_id: Mapping[str, Animal]) -> list[int]:
    if not animal.clutch:
        return []
    return [j for j, name in enumerate(older) if by_id[name].clutch == animal.clutch]


def _clutch_mates(animal: Animal, dams: Floats, sires: Floats, table: Floats) -> float:
    """One dam for both, and one sire for both or two draws; what is unknown is a founder of kinship 1/2."""
    own = table.diagonal()
    dam_pair = dams @ own + (1.0 - dams.sum()) / 2.0
    sire_pair = sires @ own + (1.0 - sires.sum()) / 2.0 if animal.one_sire else sires @ table @ sires
    return float(dam_pair / 4.0 + sire_pair / 4.0 + dams @ table @ sires / 2.0)


def _chances(parents: Chances, row: Mapping[str, int], n: int) -> Floats:
    chances = np.zeros(n)
    for name, chance in parents:
        chances[row[name]] += chance
    return chances


def _check(animals: Sequence[Animal]) -> None:
    known = {animal.id for animal in animals}
    if len(known) < len(animals):
        raise EntryError("Two animals have the same mark. Nothing was changed. Rename one of them.")
    first: dict[str, Animal] = {}
    for animal in animals:
        for parents in (animal.dams, animal.sires):
            _check_chances(animal.id, parents, known)
        mate = first.setdefault(animal.clutch, animal) if animal.clutch else animal
        same = (mate.dams, mate.sires, mate.one_sire) == (animal.dams, animal.sires, animal.one_sire)
        if not same:
            raise EntryError(
                f"{animal.id} and {mate.id} are of clutch {animal.clutch} but have different parents. "
                "Enter the same possible parents for both, or two clutches."
            )


def _check_chances(name: str, parents: Chances, known: set[str]) -> None:
    for parent, chance in parents:
        if parent not in known:
            raise EntryError(f"{name} names {parent} as a parent, but no animal has that mark. Add it first.")
        if not 0.0 < chance <= 1.0:
            raise EntryError(f"{name}: the chance that {parent} is a parent must be above 0 and at most 1.")
    if sum(chance for _, chance in parents) > 1.0 + _TOLERANCE:
        raise EntryError(f"{name}: the chances of its possible parents of one sex add up to more than 1.")


def _parents_first(animals: Sequence[Animal], by_id: Mapping[str, Animal]) -> list[str]:
    """Order in which all parents of a clutch stand before its first member."""
    clutch: dict[str, list[str]] = {}
    for animal in animals:
        clutch.setdefault(animal.clutch or f"\0{animal.id}", []).append(animal.id)
    done: dict[str, None] = {}
    waiting = list(clutch.values())
    while waiting:
        ready = [mates for mates in waiting if all(p in done for p in _all_parents(by_id[mates[0]]))]
        if not ready:
            circle = ", ".join(name for mates in waiting for name in mates)
            raise EntryError(f"An animal cannot descend from itself: look at the parents of {circle}.")
        for mates in ready:
            done.update(dict.fromkeys(mates))
        waiting = [mates for mates in waiting if mates[0] not in done]
    return list(done)


def _all_parents(animal: Animal) -> list[str]:
    return [name for name, _ in animal.dams + animal.sires]
