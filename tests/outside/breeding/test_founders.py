"""Founders, gene diversity, and sires known only by chance, as printed."""

import pytest

from boxside.core.breeding import Animal, founder_genomes, kinships, living_diversity, pedigree
from boxside.core.values.lineage import EVERY_MALE, Cohort, CohortKind, Living, Parents, Source
from tests.outside.breeding.published import PUBLISHED


def one(name):
    return Parents((Source(name, n=1),))


@pytest.mark.parametrize("case", PUBLISHED["founders"]["cases"])
def test_diversity_of_founders_matches_lacy_1989(case):
    known = kinships([Cohort("wild", CohortKind.FOUNDERS, size=case["n"])])
    got = living_diversity(known, [Living("wild", unsexed=case["n"])])
    assert got.gene_diversity == pytest.approx(case["gene_diversity"], abs=1e-12)
    assert got.founder_genomes == pytest.approx(case["n"], abs=1e-9)
    assert founder_genomes(1 - case["gene_diversity"]) == pytest.approx(case["n"], abs=1e-9)


def test_founder_equivalents_match_lacy_1989():
    check = PUBLISHED["founder_equivalents"]
    line = [Cohort(name, CohortKind.FOUNDERS, size=1) for name in "ABE"]
    line.append(Cohort("CD", CohortKind.OFFSPRING, one("A"), one("B"), size=2))
    line.append(Cohort("D", CohortKind.INDIVIDUAL, parts=(Source("CD"),), size=1))
    line.append(Cohort("FG", CohortKind.OFFSPRING, one("E"), one("D"), size=2))
    alive = [Living("CD", unsexed=1), Living("D", unsexed=1), Living("FG", unsexed=2)]
    got = living_diversity(kinships(line), alive)
    assert got.founder_equivalents == pytest.approx(check["expected"], abs=check["tolerance"])
    assert dict(got.founder_shares) == pytest.approx({"A": 0.375, "B": 0.375, "E": 0.25})
    # By hand: four selves of 1/2, then CD 1/4, CF CG 1/8, DF DG 1/4, FG 1/4, each twice, over 16.
    assert got.mean_kinship == pytest.approx(4.5 / 16)


@pytest.mark.parametrize("case", PUBLISHED["unknown_sire"]["cases"])
def test_unknown_sire_of_individuals_matches_henderson_1988(case):
    names = [f"male{i}" for i in range(len(case["chances"]))]
    sires = tuple(zip(names, case["chances"], strict=True))
    base = [Animal("dam"), *(Animal(name) for name in names)]
    dam = (("dam", 1.0),)
    apart = pedigree([*base, Animal("a", dam, sires), Animal("b", dam, sires)])
    together = pedigree([*base, Animal("a", dam, sires, "clutch"), Animal("b", dam, sires, "clutch")])
    each_egg = pedigree([*base, Animal("a", dam, sires, "clutch", False), Animal("b", dam, sires, "clutch", False)])
    assert apart.k("a", "b") == pytest.approx(case["separate"], abs=1e-12)
    assert each_egg.k("a", "b") == pytest.approx(case["separate"], abs=1e-12)
    assert together.k("a", "b") == pytest.approx(case["one_male"], abs=1e-12)


@pytest.mark.parametrize("case", PUBLISHED["unknown_sire"]["cases"])
def test_unknown_sire_of_a_clutch_matches_henderson_1988(case):
    names = [f"male{i}" for i in range(len(case["chances"]))]
    sources = tuple(Source(name, chance, 1) for name, chance in zip(names, case["chances"], strict=True))
    base = [Cohort(name, CohortKind.FOUNDERS, size=1) for name in ("dam", *names)]
    clutches = [
        Cohort("one male", CohortKind.OFFSPRING, one("dam"), Parents(sources)),
        Cohort("every male", CohortKind.OFFSPRING, one("dam"), Parents(sources), males_per_clutch=EVERY_MALE),
    ]
    known = kinships(base + clutches)
    assert known.w("one male") == pytest.approx(case["one_male"], abs=1e-12)
    assert known.w("every male") == pytest.approx(case["separate"], abs=1e-12)
