"""Random seasons for the tests of pairings: a line of cohorts, and who is adult when."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from boxside.core.breeding import Kinships, kinships
from boxside.core.values.lineage import Available, CohortKind, Living, PairingRequest, Window
from boxside.core.values.stages import Sex
from tests.core.breeding.genedrop import RandomLine

DAY = date(2025, 6, 20)


def random_season(seed: int, n_sources: int = 5) -> tuple[Kinships, list[Available], np.random.Generator]:
    """Return a line and up to `n_sources` cohorts with females and males, some with dates."""
    rng = np.random.default_rng(seed)
    known = kinships(RandomLine(rng).made(9))
    names = [cohort.id for cohort in known.cohorts if cohort.kind is not CohortKind.INDIVIDUAL]
    names = [str(x) for x in rng.permutation(names)[:n_sources]]
    available = []
    for name in names:
        for sex in (Sex.FEMALE, Sex.MALE):
            n = int(rng.integers(0, 4))
            first = DAY + timedelta(days=int(rng.integers(0, 25)))
            window = Window(first, first + timedelta(days=int(rng.integers(3, 15)))) if rng.random() < 0.7 else None
            if n:
                available.append(Available(name, sex, n, window))
    return known, available, rng


def random_request(known: Kinships, rng: np.random.Generator, n_families: int) -> PairingRequest:
    """Return a request, with standing animals half of the time."""
    clutches = int(rng.integers(1, 3))
    if rng.random() < 0.5:
        return PairingRequest(n_families, clutches_per_male=clutches)
    standing = tuple(Living(cohort.id, unsexed=int(rng.integers(1, 9))) for cohort in known.cohorts[-2:])
    return PairingRequest(n_families, 0, clutches, 1.0, standing, float(rng.uniform(0.1, 0.7)))
