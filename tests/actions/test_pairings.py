"""The season's pairings: who lives, who is adult together, and what related animals are kept from."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from boxside.actions.adults import lifetime, species_profile
from boxside.actions.entry import named_entity
from boxside.actions.pairings import Wish, pairings_view
from boxside.core.values.errors import EntryError
from boxside.core.values.line_view import PairingsView
from boxside.core.values.stages import Sex
from tests.actions.keeping import Keeper
from tests.actions.lining import female, found, male, start


def adults(keeper: Keeper, cohort: str, box: str, sex: str, n: int) -> None:
    keeper.add(box, stage="adult", n=n, sex=sex, cohort_id=named_entity(keeper.services, "cohort", cohort))


def pairs(view: PairingsView) -> dict[tuple[str, str], tuple[int, int]]:
    return {(row.males, row.females): (row.n_males, row.n_females) for row in view.pairs}


@pytest.fixture
def sibs(keeper: Keeper) -> Keeper:
    """Two families S and T of unrelated founders; three of each sex of each emerged on 20 June 2027."""
    found(keeper, "A", 4, "B08")
    found(keeper, "B", 4, "B09")
    keeper.stand("2027-06-20")
    start(keeper, "S", "2026-07-01", female("A"), male("A"))
    start(keeper, "T", "2026-07-01", female("B"), male("B"))
    for cohort, box in (("S", "B01"), ("T", "B03")):
        adults(keeper, cohort, box, "female", 3)
        adults(keeper, cohort, f"B0{int(box[2]) + 1}", "male", 3)
    return keeper


def test_sibs_are_paired_with_the_other_family(sibs: Keeper) -> None:
    view = pairings_view(sibs.services)
    assert pairs(view) == {("S", "T"): (3, 3), ("T", "S"): (3, 3)}
    assert [row.kinship for row in view.pairs] == [0.0, 0.0]
    assert view.mean_kinship == pytest.approx(view.best_mean_kinship)
    first = view.pairs[0]
    assert "not related" in first.reasons[0][2]
    assert first.boxes == "males in B02, females in B03"
    assert first.second_best


def test_the_dead_are_not_paired(sibs: Keeper) -> None:
    sibs.wait(5)
    sibs.log("B02", "died", n=3, stage="adult", sex="male")
    view = pairings_view(sibs.services)
    assert {row.males for row in view.pairs} == {"T"}
    assert sum(row.n_males for row in view.pairs) <= 3
    assert not [row for row in view.available if (row.cohort, row.sex) == ("S", "male")]


def test_those_that_will_have_died_are_not_planned_for_a_later_day(sibs: Keeper) -> None:
    males = lifetime(species_profile(sibs.services, named_entity(sibs.services, "cohort", "S")), Sex.MALE)[1]
    females = lifetime(species_profile(sibs.services, named_entity(sibs.services, "cohort", "S")), Sex.FEMALE)[1]
    last = date(2027, 6, 20) + timedelta(days=min(males, females))
    assert pairings_view(sibs.services, last).pairs
    after = pairings_view(sibs.services, last + timedelta(days=1))
    assert after.pairs == ()
    assert "nothing can be paired" in after.empty


def test_pupae_count_from_the_day_they_should_emerge(sibs: Keeper) -> None:
    found(sibs, "P", 2, "B05", stage="larva", instar=6)
    sibs.wait(5)
    sibs.log("B05", "pupated", n=2, to_sex="male")
    low, high = species_profile(sibs.services, named_entity(sibs.services, "cohort", "P")).duration_days(
        "pupa", Sex.MALE
    )
    view = pairings_view(sibs.services)
    (row,) = [row for row in view.available if row.cohort == "P"]
    assert (row.expected, row.first) == (True, date(2027, 6, 20) + timedelta(days=(low + high) // 2))
    windows = [pair.when for pair in view.pairs if pair.males == "P"]
    assert windows
    assert all(text.startswith(f"{row.first.day} ") for text in windows)


def test_a_cohort_that_would_leave_no_offspring_is_named(keeper: Keeper) -> None:
    """One female, males of two unrelated cohorts: one of the two ends, and that is said."""
    keeper.stand("2026-06-20")
    found(keeper, "F", 1, "B01", stage="adult", sex="female")
    found(keeper, "M", 1, "B02", stage="adult", sex="male")
    found(keeper, "N", 1, "B03", stage="adult", sex="male")
    view = pairings_view(keeper.services)
    (row,) = view.pairs
    (left,) = {"M", "N"} - {row.males}
    assert (row.females, row.n_females) == ("F", 1)
    assert [text for text in view.warnings if text.startswith(f"{left} leaves no offspring")]
    assert not [text for text in view.warnings if text.startswith(f"{row.males} leaves")]


def test_larvae_of_a_cohort_left_out_stay_for_later(keeper: Keeper) -> None:
    keeper.stand("2026-06-20")
    found(keeper, "F", 1, "B01", stage="adult", sex="female")
    found(keeper, "M", 2, "B02", stage="adult", sex="male")
    found(keeper, "N", 1, "B03", stage="adult", sex="male")
    for cohort, box in (("M", "B04"), ("N", "B05")):
        keeper.add(box, n=12, cohort_id=named_entity(keeper.services, "cohort", cohort))
    view = pairings_view(keeper.services)
    (left,) = {"M", "N"} - {row.males for row in view.pairs}
    assert f"{left} leaves no offspring this time; 12 of it stay for later." in view.warnings


def test_more_families_than_females_are_refused(sibs: Keeper) -> None:
    with pytest.raises(EntryError, match="There are 6 females"):
        pairings_view(sibs.services, wish=Wish(n_families=7))


def test_only_sibs_left_are_paired_with_the_reason_and_refused_where_too_close(keeper: Keeper) -> None:
    found(keeper, "A", 4, "B08")
    keeper.stand("2027-06-20")
    start(keeper, "S", "2026-07-01", female("A"), male("A"))
    adults(keeper, "S", "B01", "female", 1)
    adults(keeper, "S", "B02", "male", 1)
    (row,) = pairings_view(keeper.services).pairs
    assert row.kinship == pytest.approx(0.25)
    assert "brother and sister" in row.reasons[0][2]
    with pytest.raises(EntryError, match="too closely related"):
        pairings_view(keeper.services, wish=Wish(max_kinship=0.2))


@pytest.mark.parametrize(
    ("wish", "why"),
    [
        (Wish(n_families=-1), "-1 is no number of families"),
        (Wish(clutches_per_male=0), "cannot serve 0 clutches"),
        (Wish(max_kinship=-0.1), "Kinship lies between 0 and 1"),
        (Wish(max_kinship=float("nan")), "Kinship lies between 0 and 1"),
    ],
)
def test_a_wish_that_makes_no_sense_is_refused(keeper: Keeper, wish: Wish, why: str) -> None:
    with pytest.raises(EntryError, match=why):
        pairings_view(keeper.services, wish=wish)
