"""A closed line over 15 generations: pairings from the plan against random mating, with real individuals.

Both keepers start from the same 16 founders, rear six families a generation, lose the same share of larvae and have
the same spread of emergence. One puts together whoever emerges; the other follows `best_pairings`, which knows
cohorts only. What is compared is the gene diversity of the animals themselves, from their true pedigree. A third
keeper takes one female and one male from each family and mates them at random.

Run it as `python -m tests.core.breeding.closed_line` (the package installed, or PYTHONPATH=mobileapp).
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from boxside.core.breeding import best_pairings, kinships, with_cohort
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import (
    Available,
    Cohort,
    CohortKind,
    PairingRequest,
    Parents,
    Source,
    Window,
)
from boxside.core.values.stages import Sex

N_FAMILIES, N_GENERATIONS, N_FOUNDER_COHORTS, REARED = 6, 15, 4, 8
SURVIVAL = 0.7
MIDSUMMER = date(2025, 7, 1)


@dataclass
class Adults:
    """The adults of one generation with their true kinship: `family` and `is_male` by animal, `day` by family."""

    family: NDArray[np.int64]
    is_male: NDArray[np.bool_]
    day: NDArray[np.int64]
    kinship: NDArray[np.float64]

    def window(self, family: int, male: bool) -> Window:
        """Males come out earlier and live for a shorter time."""
        first = MIDSUMMER + timedelta(days=int(self.day[family]) - (2 if male else 0))
        return Window(first, first + timedelta(days=9 if male else 13))

    def can_meet(self, female: int, male: int) -> bool:
        other = self.window(int(self.family[male]), True)
        return self.window(int(self.family[female]), False).overlap(other) is not None


Pairs = list[tuple[int, int]]  # (female, male) by animal
Keeper = Callable[[Adults, np.random.Generator], Pairs]


def founders() -> Adults:
    """Return four founding cohorts of two females and two males, unrelated, out at the same time."""
    n = 4 * N_FOUNDER_COHORTS
    return Adults(
        np.repeat(np.arange(N_FOUNDER_COHORTS), 4),
        np.tile([False, False, True, True], N_FOUNDER_COHORTS),
        np.zeros(N_FOUNDER_COHORTS, dtype=np.int64),
        np.eye(n) / 2.0,
    )


def next_adults(adults: Adults, pairs: Pairs, luck: np.random.Generator) -> Adults:
    """Return the adults that the families of `pairs` give: eight reared of each, each alive with one chance."""
    alive = luck.random((N_FAMILIES, REARED)) < SURVIVAL
    male = luck.random((N_FAMILIES, REARED)) < 0.5
    day = luck.normal(0.0, 5.0, N_FAMILIES).round().astype(np.int64)
    alive, male = alive[: len(pairs)], male[: len(pairs)]
    family = np.nonzero(alive)[0]
    dam, sire = np.array(pairs).T[:, family]
    k = adults.kinship
    kinship = (k[np.ix_(dam, dam)] + k[np.ix_(dam, sire)] + k[np.ix_(sire, dam)] + k[np.ix_(sire, sire)]) / 4.0
    np.fill_diagonal(kinship, (1.0 + k[dam, sire]) / 2.0)
    return Adults(family, male[alive], day, kinship)


# ---------------------------------------------------------------- three keepers


def mate_at_random(adults: Adults, rng: np.random.Generator) -> Pairs:
    """Any female with any male that is out at the same time."""
    return _mated(adults, rng.permutation(np.flatnonzero(~adults.is_male)), adults.is_male, rng)


def mate_one_of_each_family(adults: Adults, rng: np.random.Generator) -> Pairs:
    """Families in turn, so that each gives as many females and males as the others, mates at random."""
    females = _family_by_family(adults, np.flatnonzero(~adults.is_male), rng)
    few = np.zeros_like(adults.is_male)
    few[_family_by_family(adults, np.flatnonzero(adults.is_male), rng)[:N_FAMILIES]] = True
    pairs = _mated(adults, females, few, rng)
    return pairs if len(pairs) == N_FAMILIES else mate_at_random(adults, rng)


def _family_by_family(adults: Adults, animals: NDArray[np.intp], rng: np.random.Generator) -> NDArray[np.intp]:
    animals = rng.permutation(animals)
    place = np.array([(adults.family[animals[:i]] == adults.family[x]).sum() for i, x in enumerate(animals)])
    return animals[np.argsort(place, kind="stable")]


def _mated(adults: Adults, females: Sequence[int], males: NDArray[np.bool_], rng: np.random.Generator) -> Pairs:
    pairs: Pairs = []
    free = list(rng.permutation(np.flatnonzero(males)))
    for female in females:
        male = next((x for x in free if adults.can_meet(int(female), int(x))), None)
        if male is not None and len(pairs) < N_FAMILIES:
            free.remove(male)
            pairs.append((int(female), int(male)))
    return pairs


class Planner:
    """Keeps the line as cohorts, one a family, and follows the plan; within a cohort any animal will do."""

    def __init__(self) -> None:
        self.known = kinships([Cohort(f"W{i}", CohortKind.FOUNDERS, size=4) for i in range(N_FOUNDER_COHORTS)])
        self.names = [f"W{i}" for i in range(N_FOUNDER_COHORTS)]
        self.generation = 0

    def __call__(self, adults: Adults, rng: np.random.Generator) -> Pairs:
        """Return the animals of the planned pairings, and enter their clutches as cohorts."""
        available = [
            Available(name, sex, n, adults.window(i, sex is Sex.MALE))
            for i, name in enumerate(self.names)
            for sex in (Sex.FEMALE, Sex.MALE)
            if (n := len(self._members(adults, i, sex))) > 0
        ]
        pairs, clutches = self._picked(adults, self._plan(available), rng)
        self.generation += 1
        self.names = [f"G{self.generation}.{i}" for i in range(len(pairs))]
        for name, (mother, father) in zip(self.names, clutches, strict=True):
            dams, sires = Parents((Source(mother, n=1),)), Parents((Source(father, n=1),))
            self.known = with_cohort(self.known, Cohort(name, CohortKind.OFFSPRING, dams, sires))
        return pairs

    @staticmethod
    def _members(adults: Adults, family: int, sex: Sex) -> NDArray[np.intp]:
        return np.flatnonzero((adults.family == family) & (adults.is_male == (sex is Sex.MALE)))

    def _plan(self, available: list[Available]) -> list[tuple[str, str, int]]:
        for n in range(N_FAMILIES, 0, -1):
            try:
                plan = best_pairings(self.known, available, PairingRequest(n))
            except EntryError:
                continue  # fewer females can meet a male: ask for one family less
            return [(pair.females, pair.males, pair.n_females) for pair in plan.pairings]
        raise AssertionError("no pair is left: the line died out")

    def _picked(
        self, adults: Adults, plan: list[tuple[str, str, int]], rng: np.random.Generator
    ) -> tuple[Pairs, list[tuple[str, str]]]:
        free = {
            (name, sex): list(rng.permutation(self._members(adults, i, sex)))
            for i, name in enumerate(self.names)
            for sex in (Sex.FEMALE, Sex.MALE)
        }
        pairs, clutches = [], []
        for mother, father, n in plan:
            for _ in range(n):
                pairs.append((int(free[mother, Sex.FEMALE].pop()), int(free[father, Sex.MALE].pop())))
                clutches.append((mother, father))
        return pairs, clutches


# ---------------------------------------------------------------- the comparison


def last_adults(keeper: Keeper, seed: int, n_generations: int) -> Adults:
    """Return the adults of the last generation."""
    rng = np.random.default_rng([seed, 1])
    adults = founders()
    for generation in range(n_generations):
        pairs = keeper(adults, rng)
        assert pairs, "the line died out"
        adults = next_adults(adults, pairs, np.random.default_rng([seed, 2, generation]))
    return adults


def diversity_kept(keeper: Keeper, seed: int, n_generations: int = N_GENERATIONS) -> float:
    """Return the gene diversity of the last generation, relative to the source of the founders."""
    return 1.0 - float(last_adults(keeper, seed, n_generations).kinship.mean())


@dataclass
class Comparison:
    """Gene diversity by seed, in percent."""

    planned: NDArray[np.float64]
    equal: NDArray[np.float64]
    random: NDArray[np.float64]

    def gain(self) -> tuple[float, float, float]:
        """Return the mean gain of the plan over random mating, and its 95 % interval, in percentage points."""
        return interval(self.planned - self.random)


def interval(values: NDArray[np.float64]) -> tuple[float, float, float]:
    """Return the mean and its 95 % interval (normal)."""
    mean, half = float(values.mean()), 1.96 * float(values.std(ddof=1)) / math.sqrt(len(values))
    return mean, mean - half, mean + half


def comparison(seeds: Sequence[int]) -> Comparison:
    """Return the three keepers on the same seeds."""
    planned = [diversity_kept(Planner(), seed) for seed in seeds]
    equal = [diversity_kept(mate_one_of_each_family, seed) for seed in seeds]
    at_random = [diversity_kept(mate_at_random, seed) for seed in seeds]
    return Comparison(*(100.0 * np.array(x) for x in (planned, equal, at_random)))


def main() -> None:
    """Print the result."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=100)
    asked = parser.parse_args()
    got = comparison(range(asked.seeds))
    print(f"{asked.seeds} paired seeds, {N_GENERATIONS} generations of {N_FAMILIES} families from 16 founders")
    for name, values in (
        ("planned", got.planned),
        ("one of each family", got.equal),
        ("random", got.random),
    ):
        print(f"gene diversity kept, {name:20s} {values.mean():6.2f} %")
    for name, other in (("random mating", got.random), ("one of each family", got.equal)):
        mean, low, high = interval(got.planned - other)
        print(f"plan minus {name:20s} {mean:+6.2f} points, 95 % interval {low:+.2f} to {high:+.2f}")
    print(f"seeds in which the plan was ahead of random mating: {int((got.planned > got.random).sum())}")


if __name__ == "__main__":
    main()
