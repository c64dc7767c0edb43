"""Numerator relationship matrices of textbooks, by individuals and, where it applies, by cohorts."""

import numpy as np
import pytest

from boxside.core.breeding import Animal, kinships, pedigree
from boxside.core.values.lineage import Cohort, CohortKind, Parents, Source
from tests.outside.breeding.published import PUBLISHED


def example(name):
    return next(entry for entry in PUBLISHED["relationship"] if entry["name"] == name)


def animals(rows):
    return [
        Animal(
            str(animal),
            dams=((str(dam), 1.0),) if dam else (),
            sires=((str(sire), 1.0),) if sire else (),
        )
        for animal, sire, dam in rows
    ]


def cohorts_of_one(rows):
    """Every animal a cohort of one, unknown parents as founders of their own."""
    line = []
    for animal, sire, dam in rows:
        if not (sire or dam):
            line.append(Cohort(str(animal), CohortKind.FOUNDERS, size=1))
            continue
        parents = []
        for role, parent in (("dam", dam), ("sire", sire)):
            name = str(parent) if parent else f"{role} of {animal}"
            if not parent:
                line.append(Cohort(name, CohortKind.FOUNDERS, size=1))
            parents.append(Parents((Source(name, n=1),)))
        line.append(Cohort(str(animal), CohortKind.OFFSPRING, *parents, size=1))
    return line


def test_relationship_matrix_matches_mrode_2014():
    check = example("mrode")
    got = pedigree(animals(check["pedigree"]))
    assert got.relationship == pytest.approx(np.array(check["matrix"]), abs=check["tolerance"])
    assert got.inbreeding == pytest.approx([0, 0, 0, 0, 0.125, 0.125], abs=check["tolerance"])


def test_relationship_matrix_matches_christensen():
    check = example("christensen")
    got = pedigree(animals(check["pedigree"])).relationship
    # Printed cut, not rounded, to three decimals.
    assert got == pytest.approx(np.array(check["matrix"]), abs=check["tolerance"])
    assert np.floor(got * 1000 + 1e-9) / 1000 == pytest.approx(np.array(check["matrix"]), abs=1e-9)


@pytest.mark.parametrize("name", ["mrode", "christensen"])
def test_cohorts_of_one_have_the_same_relationship_matrix(name):
    check = example(name)
    known = kinships(cohorts_of_one(check["pedigree"]))
    ids = [str(animal) for animal, *_ in check["pedigree"]]
    got = np.array([[known.s(a) if a == b else known.k(a, b) for b in ids] for a in ids])
    assert 2 * got == pytest.approx(np.array(check["matrix"]), abs=check["tolerance"])


def test_decomposition_into_family_parts_matches_mrode_2014():
    """A = T D T', with D the variance within families, 1/2 - (F_sire + F_dam)/4 where both are known."""
    check = example("mrode")
    rows = check["pedigree"]
    relationship = pedigree(animals(rows)).relationship
    flow = np.eye(len(rows))
    for i, (_, sire, dam) in enumerate(rows):
        for parent in (sire, dam):
            if parent:
                flow[i] += flow[parent - 1] / 2
    inverse = np.linalg.inv(flow)
    within_family = inverse @ relationship @ inverse.T
    assert within_family == pytest.approx(np.diag(check["within_family"]), abs=1e-12)
