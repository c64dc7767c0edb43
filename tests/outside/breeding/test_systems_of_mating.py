"""Classical systems of mating, and kinship of common relatives."""

from fractions import Fraction

import pytest

from boxside.core.breeding import Animal, Scheme, kinship_ahead, kinships, pedigree
from boxside.core.values.lineage import Cohort, CohortKind, Parents, Source
from tests.outside.breeding.published import PUBLISHED

SYSTEMS = PUBLISHED["systems"]
TOLERANCE = SYSTEMS["tolerance"]


def series(name):
    return [float(Fraction(text)) for text in SYSTEMS[name]]


def one(name):
    return Parents((Source(name, n=1),))


def bred(name, dams, sires):
    return Cohort(name, CohortKind.OFFSPRING, dams, sires)


def founders(name, size):
    return Cohort(name, CohortKind.FOUNDERS, size=size)


def test_full_sib_cohorts_match_wright_1921():
    expected = series("full_sibs")
    line = [founders("0", 2)]
    for t in range(len(expected)):
        line.append(bred(str(t + 1), one(str(t)), one(str(t))))
    known = kinships(line)
    got = [known.f(str(t + 1)) for t in range(len(expected))]
    assert got == pytest.approx(expected, abs=TOLERANCE)


def test_one_pair_ahead_matches_wright_1921():
    """A pair of unrelated founders bred on and on: kinship of sibs is the inbreeding one generation later."""
    expected = series("full_sibs")
    ahead = kinship_ahead(0.0, 0.0, Scheme(n_dams=1, n_sires=1), len(expected) - 1)
    assert ahead == pytest.approx(expected, abs=TOLERANCE)


def test_half_sib_cohorts_match_wright_1921():
    """One male with very many half-sisters of his in every generation; he and they share a sire, no dam."""
    expected = series("half_sibs")
    many = 10**12
    line = [founders("dams", many), founders("sire", 1), bred("0", Parents((Source("dams"),), many), one("sire"))]
    for t in range(len(expected) - 1):
        line.append(bred(str(t + 1), Parents((Source(str(t)),), many), one(str(t))))
    known = kinships(line)
    got = [known.f(str(t)) for t in range(len(expected))]
    assert got == pytest.approx(expected, abs=1e-11)


def test_backcross_to_one_animal_matches_wright_1921():
    expected = series("backcross")
    line = [founders("kept", 1), founders("other", 1), bred("0", one("other"), one("kept"))]
    for t in range(len(expected) - 1):
        line.append(bred(str(t + 1), one(str(t)), one("kept")))
    known = kinships(line)
    assert [known.f(str(t)) for t in range(len(expected))] == pytest.approx(expected, abs=TOLERANCE)


def test_selfing_of_individuals_matches_wright_1921():
    expected = series("selfing")
    line = [Animal("0")]
    for t in range(1, len(expected)):
        parent = ((str(t - 1), 1.0),)
        line.append(Animal(str(t), parent, parent))
    assert pedigree(line).inbreeding == pytest.approx(expected, abs=TOLERANCE)


def test_matings_in_the_field_match_boggess():
    check = PUBLISHED["full_sibs_in_the_field"]
    line = [founders("P", 2)]
    for t in range(4):
        line.append(bred(f"S{t}", one(f"S{t - 1}" if t else "P"), one(f"S{t - 1}" if t else "P")))
    line += [founders("Q", 1), founders("R", 1), founders("S", 1), bred("QR", one("Q"), one("R"))]
    line += [bred("QS", one("Q"), one("S")), bred("half", one("QR"), one("QS"))]
    line += [bred("back", one("QR"), one("Q")), founders("T", 1), bred("QRT", one("T"), one("QR"))]
    line += [bred("grand", one("QRT"), one("Q"))]
    known = kinships(line)
    got = [known.f(f"S{t}") for t in (1, 2, 3)]
    assert got == pytest.approx(check["brother_sister"], abs=check["tolerance"])
    assert known.f("half") == pytest.approx(check["half_sibs"], abs=check["tolerance"])
    assert known.f("back") == pytest.approx(check["parent_offspring"], abs=check["tolerance"])
    assert known.f("grand") == pytest.approx(check["grandparent_grandoffspring"], abs=check["tolerance"])


def test_relatives_match_christensen():
    """Two sibs from one pair, two from another; their children are uncles, nieces and cousins of each other."""
    check = PUBLISHED["relatives"]
    line = [founders(name, 1) for name in "abcdxy"]
    line += [bred("sibs", one("a"), one("b")), bred("others", one("c"), one("d"))]
    line += [Cohort(f"sib{i}", CohortKind.INDIVIDUAL, parts=(Source("sibs"),), size=1) for i in (1, 2)]
    line += [Cohort(f"other{i}", CohortKind.INDIVIDUAL, parts=(Source("others"),), size=1) for i in (1, 2)]
    line += [bred("child1", one("sib1"), one("x")), bred("child2", one("sib2"), one("y"))]
    line += [bred("double1", one("sib1"), one("other1")), bred("double2", one("sib2"), one("other2"))]
    line += [bred("ax", one("a"), one("x"))]
    known = kinships(line)
    got = {
        "full_sibs": known.k("sib1", "sib2"),
        "parent_offspring": known.k("a", "sib1"),
        "half_sibs": known.k("ax", "sib1"),
        "uncle_niece": known.k("sib1", "child2"),
        "double_first_cousins": known.k("double1", "double2"),
        "first_cousins": known.k("child1", "child2"),
    }
    assert got == pytest.approx({name: check[name] for name in got}, abs=check["tolerance"])
