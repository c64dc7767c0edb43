"""Kinship between cohorts: small cases by hand, and laws that hold for every line."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.breeding import kinships, ordered_line, paternity_range, with_cohort
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import EVERY_MALE, Cohort, CohortKind, Parents, Source
from tests.core.breeding.genedrop import RandomLine


def founders(name, size=10, **more):
    return Cohort(name, CohortKind.FOUNDERS, size=size, **more)


def group(name, n, **more):
    return Parents((Source(name, n=n, **more),))


def bred(name, dams, sires, **more):
    return Cohort(name, CohortKind.OFFSPRING, dams, sires, **more)


def blend(name, *parts, **more):
    return Cohort(name, CohortKind.BLEND, parts=parts, **more)


def drawn(name, source, size=1):
    kind = CohortKind.INDIVIDUAL if size == 1 else CohortKind.GROUP
    return Cohort(name, kind, parts=(Source(source),), size=size)


# ---------------------------------------------------------------- by hand


def test_unrelated_founders_have_no_kinship_but_with_themselves():
    known = kinships([founders("A"), founders("B")])
    assert (known.k("A", "B"), known.w("A"), known.f("A"), known.s("A")) == (0, 0, 0, 0.5)


def test_founders_may_be_known_to_be_related():
    sibs = founders("sibs", 4, within=0.25)
    cousins = founders("cousins", 4, within=0.1, inbreeding=0.2, related=(("sibs", 0.125),))
    known = kinships([cousins, sibs, bred("O", group("sibs", 2), group("cousins", 1))])
    assert known.f("O") == 0.125
    assert known.k("cousins", "sibs") == 0.125
    assert known.k("O", "cousins") == pytest.approx((0.125 + 0.1) / 2)
    # one male: SS = s = 0.6; two females: DD = (1/2 + 1/4) / 2
    assert known.w("O") == pytest.approx(0.375 / 4 + 0.6 / 4 + 0.125 / 2)


def test_offspring_of_four_females_and_two_males():
    """p_d = 1/4; p_s = 1/4 + 3/4 / 2 = 5/8 with one male a clutch, 1/2 with every male."""
    line = [founders("A"), bred("one", group("A", 4), group("A", 2))]
    line.append(bred("every", group("A", 4), group("A", 2), males_per_clutch=EVERY_MALE))
    known = kinships(line)
    assert known.w("one") == pytest.approx((1 / 4 + 5 / 8) * 0.5 / 4)
    assert known.w("every") == pytest.approx((1 / 4 + 1 / 2) * 0.5 / 4)


def test_two_of_three_males_share_a_clutch():
    """Within a clutch the same sire with chance 1/2, between clutches 1/3."""
    cohort = bred("O", group("A", 2), group("B", 3), males_per_clutch=2)
    known = kinships([founders("A"), founders("B"), cohort])
    assert known.w("O") == pytest.approx((1 / 2) * 0.5 / 4 + (1 / 2 * 1 / 2 + 1 / 2 * 1 / 3) * 0.5 / 4)


def test_more_males_a_clutch_than_there_are_means_every_male():
    line = [founders("A"), founders("B")]
    many = bred("O", group("A", 2), group("B", 3), males_per_clutch=7)
    every = replace(many, males_per_clutch=EVERY_MALE)
    assert kinships([*line, many]).w("O") == kinships([*line, every]).w("O")
    lone = bred("O", group("A", 2), group("B", 1), males_per_clutch=2)
    assert kinships([*line, lone]).w("O") == kinships([*line, replace(lone, males_per_clutch=1)]).w("O")


def test_unequal_families_raise_kinship_by_their_squared_shares():
    dams = Parents((Source("A", n=3),), family_shares=(0.5, 0.3, 0.2))
    known = kinships([founders("A"), founders("B"), bred("O", dams, group("B", 1))])
    assert known.w("O") == pytest.approx((0.25 + 0.09 + 0.04) * 0.5 / 4 + 0.5 / 4)


def test_paternity_range_has_the_entered_value_between_its_ends():
    line = [founders("A"), founders("B")]
    cohort = bred("O", group("A", 2), group("B", 4), males_per_clutch=2)
    low, asked, high = paternity_range(kinships(line), cohort)
    assert low < asked < high
    assert asked == kinships([*line, cohort]).w("O")
    assert high == pytest.approx((1 / 2 + 1 / 2 + 1 / 2 * 1 / 4) * 0.5 / 4)
    assert low == pytest.approx((1 / 2 + 1 / 4) * 0.5 / 4)


def test_slow_clutch_mates_that_breed_a_year_later():
    """The used parents are out of A, or still among its ten: then each of ten is the dam with chance 1/10."""
    line = [founders("W", 2), bred("A", group("W", 1), group("W", 1), size=10), founders("B", 4)]
    out = bred("out", group("A", 2), group("B", 1))
    inside = bred("in", group("A", 2, among=10), group("B", 1))
    known = kinships([*line, out, inside])
    assert known.k("out", "A") == pytest.approx(0.25 / 2)
    assert known.k("in", "A") == pytest.approx((0.5 / 10 + 0.25 * 9 / 10) / 2)
    later = with_cohort(known, bred("later", group("A", 2), group("B", 1)))
    assert later.k("later", "out") == pytest.approx((0.25 / 2 + 0) / 2)


def test_a_group_drawn_before_the_breeding_does_not_hold_the_parents():
    line = [founders("A", 8), founders("B")]
    before, after = drawn("before", "A", 3), drawn("after", "A", 2)
    known = kinships([*line, before, bred("O", group("A", 1, among=5), group("B", 1)), after])
    assert known.k("before", "O") == 0.0
    assert known.k("after", "O") == pytest.approx(0.5 / 5 / 2)


def test_parents_of_both_sexes_from_one_cohort_that_stays():
    line = [founders("A", 8), bred("O", group("A", 3, among=8), group("A", 2, among=8))]
    assert kinships(line).k("O", "A") == pytest.approx(0.5 / 8)


def test_an_individual_or_a_group_is_its_own_parent():
    line = [founders("A", 9), drawn("male", "A"), drawn("females", "A", 3)]
    line.append(bred("O", Parents((Source("females", n=3),)), group("male", 1)))
    known = kinships(line)
    assert known.k("O", "male") == pytest.approx(0.25)
    assert known.k("O", "females") == pytest.approx(0.25 / 3)
    assert known.k("O", "A") == 0.0


def test_two_clutches_of_one_marked_female_are_half_sibs():
    line = [founders("A", 9), drawn("female", "A"), founders("B"), founders("C")]
    line += [bred("first", group("female", 1), group("B", 1)), bred("second", group("female", 1), group("C", 1))]
    assert kinships(line).k("first", "second") == 0.125


def test_a_blend_keeps_its_shares():
    line = [founders("W", 2), founders("V", 2)]
    line += [bred("A", group("W", 1), group("W", 1)), bred("B", group("V", 1), group("V", 1))]
    line.append(blend("mixed", Source("A", n=6), Source("B", n=2)))
    known = kinships(line)
    assert known.k("mixed", "A") == pytest.approx(6 / 8 * 0.25)
    # 30 + 2 ordered pairs of sibs of 56 pairs
    assert known.w("mixed") == pytest.approx((30 + 2) / 56 * 0.25)
    assert dict(zip(known.founder_ids, known.shares[known.row("mixed")], strict=True)) == {"W": 0.75, "V": 0.25}


def test_a_blend_by_shares_alone_is_a_draw_from_many():
    line = [founders("W", 2), founders("V", 2)]
    line += [bred("A", group("W", 1), group("W", 1)), bred("B", group("V", 1), group("V", 1))]
    line.append(blend("mixed", Source("A", 3.0), Source("B", 1.0)))
    assert kinships(line).w("mixed") == pytest.approx((9 / 16 + 1 / 16) * 0.25)


def test_sources_with_numbers_are_those_animals():
    """One dam from each of two cohorts: two eggs of different dams never have both from one."""
    line = [founders("W", 2), bred("A", group("W", 1), group("W", 1)), founders("B"), founders("C")]
    line.append(bred("O", Parents((Source("A", n=1), Source("B", n=1))), group("C", 1)))
    assert kinships(line).w("O") == pytest.approx((1 / 4 * (0.5 + 0.5) + 0) / 4 + 0.5 / 4)


def test_sources_with_weights_are_chances():
    """Two dams, each from A or B by chance: both may be from A."""
    line = [founders("W", 2), bred("A", group("W", 1), group("W", 1)), founders("B"), founders("C")]
    line.append(bred("O", Parents((Source("A", 0.5), Source("B", 0.5)), 2), group("C", 1)))
    assert kinships(line).w("O") == pytest.approx((1 / 2 * 0.5 + 1 / 2 * (1 / 4 * 0.25)) / 4 + 0.5 / 4)


def test_one_animal_cannot_be_dam_and_sire_or_two_dams():
    line = [founders("A", 1), founders("B")]
    with pytest.raises(EntryError, match="dam and sire at once"):
        kinships([*line, bred("O", Parents((Source("A", 1.0),), 1), Parents((Source("A"), Source("B")), 1))])
    with pytest.raises(EntryError, match="which is one animal"):
        kinships([*line, bred("O", Parents((Source("A"), Source("B")), 2), group("B", 1))])


def test_asking_for_a_cohort_that_is_not_there_says_so():
    with pytest.raises(EntryError, match="no cohort X"):
        kinships([founders("A")]).k("A", "X")
    with pytest.raises(EntryError, match="no offspring"):
        paternity_range(kinships([founders("A")]), founders("B"))


# ---------------------------------------------------------------- laws


seeds = st.integers(0, 2**32 - 1)


def with_parents_out(cohort):
    def out(parents):
        return parents and replace(parents, sources=tuple(replace(x, among=0) for x in parents.sources))

    return replace(cohort, dams=out(cohort.dams), sires=out(cohort.sires))


def random_line(seed):
    return RandomLine(np.random.default_rng(seed)).made(7)


@settings(deadline=None, max_examples=60)
@given(seeds)
def test_every_kinship_is_a_chance_and_the_table_symmetric(seed):
    known = kinships(random_line(seed))
    assert (known.between == known.between.T).all()
    assert known.between.min() >= 0
    assert known.between.max() <= 1
    assert ((known.inbreeding >= 0) & (known.inbreeding < 1)).all()
    assert known.shares.sum(axis=1) == pytest.approx(np.ones(len(known.cohorts)))


@settings(deadline=None, max_examples=60)
@given(seeds)
def test_kinship_of_many_draws_from_cohorts_is_positive_semidefinite(seed):
    """Means of real kinship are a Gram matrix: of the n members that are left, the same is drawn once in n."""
    maker = RandomLine(np.random.default_rng(seed))
    known = kinships(maker.made(7))
    rows = [known.row(name) for name, n in maker.left.items() if n > 0]
    left = np.array([n for n in maker.left.values() if n > 0])
    between = known.between[np.ix_(rows, rows)]
    own = (1 + known.inbreeding[rows]) / 2
    table = between + np.diag((own - between.diagonal()) / left)
    assert np.linalg.eigvalsh(table).min() > -1e-12


@settings(deadline=None, max_examples=30)
@given(seeds, st.randoms(use_true_random=False))
def test_the_order_in_which_cohorts_are_given_does_not_matter_once_parents_are_out(seed, random):
    line = [with_parents_out(cohort) for cohort in random_line(seed)]
    shuffled = list(line)
    random.shuffle(shuffled)
    one, other = kinships(line), kinships(shuffled)
    rows = [other.row(cohort.id) for cohort in one.cohorts]
    assert other.between[np.ix_(rows, rows)] == pytest.approx(one.between, abs=1e-14)
    assert other.inbreeding[rows] == pytest.approx(one.inbreeding, abs=1e-14)


@settings(deadline=None, max_examples=30)
@given(seeds)
def test_adding_cohorts_one_by_one_gives_the_same_table(seed):
    line = ordered_line(random_line(seed))
    step = kinships(line[:1])
    for cohort in line[1:]:
        step = with_cohort(step, cohort)
    whole = kinships(line)
    assert np.array_equal(step.between, whole.between)
    assert np.array_equal(step.inbreeding, whole.inbreeding)
    assert step.position == dict(whole.position)
    by_founder = [whole.founder_ids.index(name) for name in step.founder_ids]
    assert np.array_equal(step.shares, whole.shares[:, by_founder])


@settings(deadline=None, max_examples=30)
@given(seeds)
def test_one_male_a_clutch_is_never_less_related_than_every_male(seed):
    known = kinships(random_line(seed))
    for cohort in known.cohorts:
        if cohort.kind is CohortKind.OFFSPRING:
            low, asked, high = paternity_range(known, cohort)
            assert low - 1e-12 <= asked <= high + 1e-12


def test_a_cohort_cannot_be_added_twice():
    known = kinships([founders("A")])
    with pytest.raises(EntryError, match="in the line already"):
        with_cohort(known, founders("A"))


def test_a_hundred_generations_end_near_full_inbreeding():
    line = [founders("0", 2)]
    for t in range(100):
        line.append(bred(str(t + 1), group(str(t), 1), group(str(t), 1)))
    known = kinships(line)
    assert 1 - 1e-8 < known.f("100") < 1
