"""Marked individuals: the table, chances, clutch-mates, and agreement with cohorts."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.breeding import Animal, kinships, pedigree
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import EVERY_MALE, Cohort, CohortKind, Parents, Source


def sure(name):
    return ((name, 1.0),)


def random_animals(seed, n):
    """Three founders, then animals with one to three possible dams and sires among the older; some clutches."""
    rng = np.random.default_rng(seed)
    animals = [Animal(f"a{i}") for i in range(4)]
    while len(animals) < n:
        order = [str(x) for x in rng.permutation([animal.id for animal in animals])]
        n_dams, n_sires = int(rng.integers(1, 3)), int(rng.integers(1, 3))
        dams, sires = order[:n_dams], order[n_dams : n_dams + n_sires]
        chances = [tuple(zip(x, rng.dirichlet(np.ones(len(x))).tolist(), strict=True)) for x in (dams, sires)]
        clutch, one_sire = f"c{len(animals)}", bool(rng.random() < 0.7)
        for _ in range(int(rng.integers(1, 4))):
            animals.append(Animal(f"a{len(animals)}", *chances, clutch, one_sire))
    return animals


def as_cohorts(animals):
    """Each clutch a cohort, each animal an individual drawn from it."""
    line, seen = [], {}
    for animal in animals:
        if not animal.dams:
            line.append(Cohort(animal.id, CohortKind.FOUNDERS, size=1))
            continue
        if animal.clutch not in seen:
            seen[animal.clutch] = animal.clutch
            dams = Parents(tuple(Source(name, chance, among=1) for name, chance in animal.dams), 1)
            sires = Parents(tuple(Source(name, chance, 1) for name, chance in animal.sires))
            males = 1 if animal.one_sire else EVERY_MALE
            line.append(Cohort(animal.clutch, CohortKind.OFFSPRING, dams, sires, males_per_clutch=males))
        line.append(Cohort(animal.id, CohortKind.INDIVIDUAL, parts=(Source(animal.clutch),), size=1))
    return line


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1))
def test_individuals_and_cohorts_agree(seed):
    animals = random_animals(seed, 14)
    by_animal, by_cohort = pedigree(animals), kinships(as_cohorts(animals))
    for i, a in enumerate(by_animal.ids):
        assert by_cohort.s(a) == pytest.approx(by_animal.k(a, a), abs=1e-12)
        for b in by_animal.ids[:i]:
            assert by_cohort.k(a, b) == pytest.approx(by_animal.k(a, b), abs=1e-12), (a, b)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 2**32 - 1), st.randoms(use_true_random=False))
def test_the_order_in_which_animals_are_given_does_not_matter(seed, random):
    animals = random_animals(seed, 12)
    shuffled = list(animals)
    random.shuffle(shuffled)
    one, other = pedigree(animals), pedigree(shuffled)
    rows = [other.ids.index(name) for name in one.ids]
    assert other.kinship[np.ix_(rows, rows)] == pytest.approx(one.kinship, abs=1e-14)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 2**32 - 1))
def test_relationship_is_positive_semidefinite_and_inbreeding_a_chance(seed):
    got = pedigree(random_animals(seed, 14))
    assert np.linalg.eigvalsh(got.relationship).min() > -1e-12
    assert ((got.inbreeding >= 0) & (got.inbreeding < 1)).all()


def test_expected_kinship_is_the_mean_over_all_ways_it_may_have_been():
    """Two clutches with two possible males each: the four certain pedigrees, weighted by their chances."""
    base = [Animal("dam"), Animal("other"), Animal("m1"), Animal("m2")]

    def line(first, second):
        clutch = [Animal(x, sure("dam"), first, "one") for x in ("a", "b")]
        return [*base, *clutch, Animal("c", sure("a"), second), Animal("d", sure("b"), sure("m1"))]

    unsure = pedigree(line((("m1", 0.3), ("m2", 0.7)), (("m1", 0.6), ("m2", 0.4))))
    mean = sum(
        p * q * pedigree(line(sure(x), sure(y))).kinship
        for x, p in (("m1", 0.3), ("m2", 0.7))
        for y, q in (("m1", 0.6), ("m2", 0.4))
    )
    assert unsure.kinship == pytest.approx(mean, abs=1e-14)


def test_an_unknown_sire_of_a_clutch_is_one_animal():
    known = pedigree([Animal("dam"), *(Animal(x, sure("dam"), (), "c") for x in "ab")])
    assert known.k("a", "b") == 0.25
    apart = pedigree([Animal("dam"), *(Animal(x, sure("dam")) for x in "ab")])
    assert apart.k("a", "b") == 0.125
    half_known = pedigree([Animal("dam"), Animal("m"), *(Animal(x, sure("dam"), (("m", 0.5),), "c") for x in "ab")])
    assert half_known.k("a", "b") == 0.25
    assert half_known.k("a", "m") == 0.125


WRONG = [
    ([Animal("a"), Animal("a")], "same mark"),
    ([Animal("a", sure("x"))], "names x as a parent"),
    ([Animal("x"), Animal("a", (("x", 1.2),))], "above 0 and at most 1"),
    ([Animal("x"), Animal("y"), Animal("a", (("x", 0.7), ("y", 0.7)))], "more than 1"),
    ([Animal("a", sure("b")), Animal("b", sure("a"))], "cannot descend from itself"),
    ([Animal("x"), Animal("a", sure("x"), (), "c"), Animal("b", (), sure("x"), "c")], "different parents"),
]


@pytest.mark.parametrize(("animals", "reason"), WRONG)
def test_a_pedigree_that_cannot_be_is_refused(animals, reason):
    with pytest.raises(EntryError, match=reason):
        pedigree(animals)
