"""Lines that cannot be true are refused with the reason."""

from datetime import date

import pytest

from boxside.core.breeding import check_introduction, kinships, ordered_line, with_cohort
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import Cohort, CohortKind, Living, Parents, Source
from boxside.core.values.stages import Sex


def founders(name, **more):
    return Cohort(name, CohortKind.FOUNDERS, **more)


def one(name, n=1):
    return Parents((Source(name, n=n),))


def bred(name, mother, father, **more):
    return Cohort(name, CohortKind.OFFSPRING, one(mother), one(father), **more)


def test_parents_come_before_their_offspring():
    line = [bred("C", "B", "A"), bred("B", "A", "A"), founders("A")]
    assert [cohort.id for cohort in ordered_line(line)] == ["A", "B", "C"]


def test_a_line_in_order_keeps_its_order():
    line = [founders("B"), founders("A"), bred("C", "A", "B")]
    assert [cohort.id for cohort in ordered_line(line)] == ["B", "A", "C"]


def test_a_circle_is_named():
    line = [founders("W"), bred("A", "C", "W"), bred("B", "A", "W"), bred("C", "B", "W")]
    with pytest.raises(EntryError, match="A from C from B from A"):
        ordered_line(line)


def test_a_circle_of_draws_is_found_while_ages_are_checked():
    line = [
        Cohort("A", CohortKind.INDIVIDUAL, parts=(Source("B"),), size=1),
        Cohort("B", CohortKind.INDIVIDUAL, parts=(Source("A"),), size=1),
        bred("O", "A", "B", born_on=date(2025, 7, 1)),
    ]
    with pytest.raises(EntryError, match="cannot descend from itself"):
        ordered_line(line)


def test_a_cohort_of_its_own_offspring_is_a_circle():
    with pytest.raises(EntryError, match="cannot descend from itself: A from A"):
        ordered_line([bred("A", "A", "A")])


def test_a_long_line_given_backwards_is_put_in_order():
    line = [founders("0")] + [bred(str(i), str(i - 1), str(i - 1)) for i in range(1, 3000)]
    assert [cohort.id for cohort in ordered_line(line[::-1])] == [str(i) for i in range(3000)]


@pytest.mark.parametrize("born_on", [date(2025, 7, 1), date(2025, 7, 2)])
def test_a_parent_must_be_older(born_on):
    line = [founders("A", born_on=born_on), bred("B", "A", "A", born_on=date(2025, 7, 1))]
    with pytest.raises(EntryError, match="is not older"):
        kinships(line)


def test_an_individual_is_as_old_as_its_cohort():
    line = [
        founders("A", born_on=date(2025, 7, 1)),
        Cohort("male", CohortKind.INDIVIDUAL, parts=(Source("A"),), size=1),
        bred("B", "A", "male", born_on=date(2024, 7, 1)),
    ]
    with pytest.raises(EntryError, match="is not older"):
        kinships(line)


def test_a_blend_may_be_made_on_the_day_its_cohort_hatched():
    day = date(2025, 7, 1)
    line = [founders("A", born_on=day), founders("B"), Cohort("M", CohortKind.BLEND, born_on=day)]
    line[2] = Cohort("M", CohortKind.BLEND, parts=(Source("A"), Source("B")), born_on=day)
    assert len(kinships(line).cohorts) == 3
    with pytest.raises(EntryError, match="is not older"):
        kinships([founders("A", born_on=date(2025, 7, 2)), *line[1:]])


def test_no_more_parents_than_animals():
    line = [founders("A", size=3), Cohort("B", CohortKind.OFFSPRING, one("A", 2), one("A", 2))]
    with pytest.raises(EntryError, match="takes 4 animals from A, but only 3 exist"):
        kinships(line)


def test_no_more_drawn_or_mixed_than_animals():
    with pytest.raises(EntryError, match="only 1 exists"):
        kinships([founders("A", size=1), Cohort("G", CohortKind.GROUP, parts=(Source("A"),), size=2)])
    mixed = Cohort("M", CohortKind.BLEND, parts=(Source("A", n=5), Source("B", n=1)))
    with pytest.raises(EntryError, match="takes 5 animals from A"):
        kinships([founders("A", size=4), founders("B"), mixed])


def test_with_several_possible_sources_none_is_counted_as_used_up():
    parents = Parents((Source("A"), Source("B")), 3)
    cohort = Cohort("O", CohortKind.OFFSPRING, parents, one("C"))
    line = [founders("A", size=2), founders("B", size=2), founders("C"), cohort]
    assert kinships(line).f("O") == 0.0


def test_a_parent_must_be_in_the_line():
    with pytest.raises(EntryError, match="names X as its origin"):
        kinships([bred("B", "X", "X")])
    with pytest.raises(EntryError, match="names X as its origin"):
        with_cohort(kinships([founders("A")]), bred("B", "A", "X"))
    with pytest.raises(EntryError, match="names X as its origin"):
        kinships([founders("A", related=(("X", 0.1),))])


def test_an_id_is_used_once():
    with pytest.raises(EntryError, match="in the line twice"):
        kinships([founders("A"), founders("A")])


WRONG = [
    (Cohort("O", CohortKind.OFFSPRING, None, one("A")), "no females"),
    (Cohort("O", CohortKind.OFFSPRING, one("A"), Parents(())), "no males"),
    (Cohort("O", CohortKind.OFFSPRING, one("A"), Parents((Source("A"),))), "number of its males"),
    (Cohort("O", CohortKind.OFFSPRING, one("A"), one("A"), (Source("A"),)), "mixture at once"),
    (Cohort("O", CohortKind.OFFSPRING, one("A"), one("A"), males_per_clutch=-1), "males to a clutch"),
    (
        Cohort("O", CohortKind.OFFSPRING, Parents((Source("A", n=2),), 0, (1.0,)), one("A")),
        "2 females but 1 family shares",
    ),
    (Cohort("O", CohortKind.OFFSPRING, Parents((Source("A", n=2),), 0, (0.7, 0.7)), one("A")), "add up to 1"),
    (Cohort("O", CohortKind.OFFSPRING, Parents((Source("A", n=2),), 0, (1.5, -0.5)), one("A")), "0 or more"),
    (
        Cohort("O", CohortKind.OFFSPRING, Parents((Source("A", 1.0, 2),), 0, (0.5, 0.5)), one("A")),
        "family shares and weights",
    ),
    (
        Cohort("O", CohortKind.OFFSPRING, Parents((Source("A", 0.5), Source("B")), 1), one("A")),
        "for every origin, or for none",
    ),
    (Cohort("O", CohortKind.OFFSPRING, Parents((Source("A", 0.0),), 1), one("A")), "greater than 0"),
    (Cohort("O", CohortKind.OFFSPRING, Parents((Source("A", n=-1),), 1), one("A")), "fewer than 0"),
    (Cohort("O", CohortKind.BLEND), "must name the cohorts"),
    (Cohort("O", CohortKind.BLEND, one("A"), parts=(Source("A"),)), "and no parents"),
    (Cohort("O", CohortKind.INDIVIDUAL, parts=(Source("A"), Source("B")), size=1), "exactly one cohort"),
    (Cohort("O", CohortKind.INDIVIDUAL, parts=(Source("A"),), size=2), "individual of 2"),
    (Cohort("O", CohortKind.GROUP, parts=(Source("A"),)), "group of 0"),
    (Cohort("O", CohortKind.FOUNDERS, one("A")), "cannot have parents"),
    (Cohort("O", CohortKind.FOUNDERS, within=1.5), "between 0 and 1"),
]


@pytest.mark.parametrize(("cohort", "reason"), WRONG)
def test_a_cohort_that_cannot_be_is_refused(cohort, reason):
    with pytest.raises(EntryError, match=reason):
        kinships([founders("A"), founders("B"), cohort])


def test_more_males_cannot_be_introduced_than_exist():
    living = Living("L3", males=3, females=1, unsexed=20)
    with pytest.raises(EntryError, match="5 males of L3 were to be introduced, but only 3 exist"):
        check_introduction(living, Sex.MALE, 5)
    with pytest.raises(EntryError, match="but only 1 exists"):
        check_introduction(living, Sex.FEMALE, 2)
    with pytest.raises(EntryError, match="one or more"):
        check_introduction(living, Sex.MALE, 0)
    check_introduction(living, Sex.MALE, 3)
