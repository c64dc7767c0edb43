"""Cohort kinship against animals with real alleles; BOXSIDE_GENEDROP sets how many random pedigrees."""

import os

import numpy as np

from boxside.core.breeding import kinships
from boxside.core.values.lineage import Cohort, CohortKind, Parents, Source
from tests.core.breeding.genedrop import RandomLine, compared, summary

N_PEDIGREES = int(os.environ.get("BOXSIDE_GENEDROP", "150"))


def test_random_group_pedigrees_agree_within_four_standard_errors():
    got = summary(N_PEDIGREES)
    assert abs(got.worst_mean_z) < 4
    # A bias too small for one pedigree shows in the mean of all, a wrong spread in their standard deviation.
    assert abs(got.mean_z) < 4 / N_PEDIGREES**0.5
    assert abs(got.sd_z - 1) < 4 / (2 * N_PEDIGREES) ** 0.5
    # Of all F, w and k, 1 in 15,800 is beyond 4 by chance alone: few are, and none when looked at more closely.
    expected = got.n_quantities / 15_800
    assert got.n_beyond_4 <= 2 * expected + 4 * expected**0.5 + 1
    assert got.still_beyond == []


def test_random_pedigrees_use_every_way_of_breeding():
    rng = np.random.default_rng(7)
    line = [cohort for _ in range(60) for cohort in RandomLine(rng).made(7)]
    parents = [p for cohort in line for p in (cohort.dams, cohort.sires) if p]
    sources = [source for cohort in line for source in cohort.sources]
    assert {cohort.kind for cohort in line} == set(CohortKind)
    assert {cohort.males_per_clutch for cohort in line} == {0, 1, 2}
    assert {p.counted for p in parents} == {True, False}
    assert any(p.family_shares for p in parents)
    assert any(len(p.sources) > 1 for p in parents)
    assert any(source.among for source in sources)
    assert any(source.among == 0 for source in sources)


def test_the_gene_drop_would_notice_a_wrong_rule():
    """The simulation of one male a clutch must not agree with the kinship of every male, and the reverse."""
    base = [Cohort("A", CohortKind.FOUNDERS, size=4), Cohort("B", CohortKind.FOUNDERS, size=4)]
    parents = (Parents((Source("A", n=1, among=4),)), Parents((Source("B", n=4, among=4),)))
    line = [*base, Cohort("O", CohortKind.OFFSPRING, *parents, size=8)]
    other = [*base, Cohort("O", CohortKind.OFFSPRING, *parents, size=8, males_per_clutch=0)]
    right = {item.name: item for item in compared(line, np.random.default_rng(1), 4000)}["w(O)"]
    error = (right.simulated - right.expected) / right.z
    assert abs(right.z) < 4
    assert abs(right.simulated - kinships(other).w("O")) / abs(error) > 8
