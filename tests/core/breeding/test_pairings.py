"""A season's pairings as the keeper reads them."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from boxside.core.breeding import best_contributions, best_pairings, choice_of, kinships, pairings
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import (
    Available,
    Cohort,
    CohortKind,
    Living,
    PairingRequest,
    Parents,
    Source,
    Window,
)
from boxside.core.values.stages import Sex
from tests.core.breeding.seasons import random_request, random_season


def founders(name, size=1):
    return Cohort(name, CohortKind.FOUNDERS, size=size)


def bred(name, mother, father):
    return Cohort(name, CohortKind.OFFSPRING, Parents((Source(mother, n=1),)), Parents((Source(father, n=1),)), size=20)


def females(name, n, window=None):
    return Available(name, Sex.FEMALE, n, window)


def males(name, n, window=None):
    return Available(name, Sex.MALE, n, window)


def july(first, last):
    return Window(date(2025, 7, first), date(2025, 7, last))


def two_families():
    """A and B are full-sib families of unrelated founders, C is half related to both."""
    return kinships(
        [founders(name) for name in "UVWX"] + [bred("A", "U", "V"), bred("B", "W", "X"), bred("C", "U", "W")]
    )


def test_sibs_are_kept_apart():
    plan = best_pairings(
        two_families(), [females("A", 2), males("A", 2), females("B", 2), males("B", 2)], PairingRequest(4)
    )
    assert [(pair.males, pair.females, pair.n_females) for pair in plan.pairings] == [("A", "B", 2), ("B", "A", 2)]
    assert [(pair.n_males, pair.kinship) for pair in plan.pairings] == [(2, 0.0), (2, 0.0)]
    # Two dams and two sires of each family: ((s + w) / 2 over two families) / 2, dams and sires alike.
    assert plan.mean_kinship == pytest.approx(0.5 * 0.375 / 2 + 0.5 * 0.25 / 2)
    assert plan.mean_kinship == pytest.approx(plan.best_mean_kinship)
    assert plan.gene_diversity == 1 - plan.mean_kinship
    assert plan.warnings == ()


def test_the_rare_family_gives_more_than_the_common_ones():
    line = [founders(name) for name in "UVWX"] + [bred(name, "U", "V") for name in ("A1", "A2", "A3")]
    known = kinships([*line, bred("B", "W", "X")])
    available = [x for name in ("A1", "A2", "A3", "B") for x in (females(name, 4), males(name, 4))]
    plan = best_pairings(known, available, PairingRequest(4))
    planned = {(share.cohort, share.sex): share.planned for share in plan.shares}
    assert planned["B", Sex.FEMALE] + planned["B", Sex.MALE] > 0.4


def test_only_those_who_are_adult_together_are_paired():
    available = [
        females("A", 2, july(10, 20)),
        females("B", 2, july(1, 8)),
        males("A", 2, july(1, 5)),
        males("B", 2, july(15, 25)),
    ]
    plan = best_pairings(two_families(), available, PairingRequest(4))
    assert {(pair.males, pair.females): pair.window for pair in plan.pairings} == {
        ("A", "B"): july(1, 5),
        ("B", "A"): july(15, 20),
    }
    days = {pair.males: reason.value for pair in plan.pairings for reason in pair.reasons if reason.rule == "overlap"}
    assert days == {"A": 5, "B": 6}


def test_reasons_say_kinship_dates_and_rarity():
    plan = best_pairings(two_families(), [females("A", 1, july(1, 9)), males("C", 1, july(9, 12))], PairingRequest(1))
    (pair,) = plan.pairings
    texts = {reason.rule: reason.text for reason in pair.reasons}
    assert texts["kinship"] == "Kinship 0.125: the offspring are as inbred as of half brother and half sister, or more."
    assert texts["overlap"] == "Both are adult from 2025-07-09 to 2025-07-09, 1 day."
    assert texts["rarity of females"].startswith("A is number 1 of 1 sources of females by rarity")
    assert "half sibs or closer" in plan.warnings[0]


def test_a_male_that_serves_two_pairings_is_named():
    available = [females("A", 1), females("C", 1), males("B", 1)]
    plan = best_pairings(two_families(), available, PairingRequest(2, clutches_per_male=2))
    shared = [reason.text for pair in plan.pairings for reason in pair.reasons if reason.rule == "shared males"]
    assert shared == [
        "A male of B serves here and with females of C.",
        "A male of B serves here and with females of A.",
    ]
    assert [pair.n_males for pair in plan.pairings] == [1, 1]


def test_more_families_are_taken_where_they_help():
    available = [females("A", 3), males("B", 3)]
    assert best_pairings(two_families(), available, PairingRequest(1)).n_families == 1
    plan = best_pairings(two_families(), available, PairingRequest(1, most_families=9))
    assert plan.n_families == 3


def test_close_kin_can_be_ruled_out():
    available = [females("A", 2), males("A", 2), males("C", 1)]
    plan = best_pairings(two_families(), available, PairingRequest(1, max_kinship=0.2))
    assert [(pair.males, pair.females) for pair in plan.pairings] == [("C", "A")]
    with pytest.raises(EntryError, match="All males are too closely related for the females of A"):
        best_pairings(two_families(), available, PairingRequest(1, max_kinship=0.1))


def test_second_choices_say_what_is_lost():
    available = [females("A", 2), males("A", 1), females("B", 1), males("B", 1), males("C", 1)]
    plan = best_pairings(two_families(), available, PairingRequest(2))
    assert {(item.instead_of) for item in plan.alternatives} == {(x.males, x.females) for x in plan.pairings}
    for item in plan.alternatives:
        assert item.lost >= -1e-12
        assert (item.males, item.females) != item.instead_of
        assert item.males in item.text
    assert [item.lost for item in plan.alternatives] == sorted(item.lost for item in plan.alternatives)


def test_a_tie_is_called_a_tie():
    line = [founders(name) for name in "ABC"]
    plan = best_pairings(kinships(line), [females("A", 1), males("B", 1), males("C", 1)], PairingRequest(1))
    (pair,), (other,) = plan.pairings, plan.alternatives
    assert (pair.males, other.males) == ("B", "C")
    assert other.lost == pytest.approx(0)
    assert other.text.startswith("Equally good")


def test_where_nothing_can_take_its_place_it_says_so():
    plan = best_pairings(two_families(), [females("A", 1), males("B", 1)], PairingRequest(1))
    (only,) = plan.alternatives
    assert (only.males, only.females) == ("", "")
    assert "nothing can take its place" in only.text
    two = best_pairings(two_families(), [females("A", 2), males("B", 2)], PairingRequest(2))
    # One pair fewer: mean kinship of one family, 1/4, instead of two of the same sources.
    assert two.alternatives[0].lost == pytest.approx(0.25 - two.mean_kinship)


def test_a_cohort_left_without_offspring_is_warned_about():
    available = [females("A", 1), males("A", 1), females("B", 1), males("B", 1), males("C", 1)]
    plan = best_pairings(two_families(), available, PairingRequest(2))
    (warning,) = plan.warnings
    assert warning.startswith("C leaves no offspring in this plan and ends")
    cost = float(warning.split("costs ")[1].split()[0])
    assert cost > 0


def test_a_cohort_with_larvae_left_does_not_end():
    available = [females("A", 1), males("A", 1), females("B", 1), males("B", 1), males("C", 1)]
    request = PairingRequest(2, standing=(Living("C", unsexed=5),), standing_frac=0.2)
    plan = best_pairings(two_families(), available, request)
    assert plan.warnings == ("C leaves no offspring this time; 5 of it stay for later.",)


def test_a_cohort_that_meets_nobody_is_warned_about_and_its_founders_named():
    line = [founders(name, 2) for name in "UVWX"] + [bred("A", "U", "U"), bred("B", "V", "V"), bred("L", "W", "W")]
    available = [females("A", 1, july(1, 9)), males("B", 1, july(1, 9)), females("L", 2, july(25, 30))]
    plan = best_pairings(kinships(line), available, PairingRequest(1))
    assert plan.warnings == (
        "L leaves no offspring: none of its animals can meet a mate. It ends with these animals.",
        "Nothing of the founders W would be left after these pairings.",
    )


def test_an_optimum_that_is_not_sure_is_called_so(monkeypatch):
    def stopped_early(choice, n_families):
        return replace(best_contributions(choice, n_families), kkt_residual=0.01)

    monkeypatch.setattr(pairings, "best_contributions", stopped_early)
    plan = best_pairings(two_families(), [females("A", 1), males("B", 1)], PairingRequest(1))
    assert plan.warnings == ("The best possible mean kinship is known to about 0.01 only; the pairings can be used.",)


def test_standing_relatives_make_a_family_less_wanted():
    available = [females("A", 1), females("B", 1), males("X", 1)]
    known = two_families()
    alone = best_pairings(known, [females("A", 1), females("C", 1), males("X", 1)], PairingRequest(1))
    assert [pair.females for pair in alone.pairings] == ["A"]
    request = PairingRequest(1, standing=(Living("A", unsexed=30),), standing_frac=0.5)
    plan = best_pairings(known, available, request)
    # B is a daughter of X's, but A has thirty young already.
    assert [pair.females for pair in plan.pairings] == ["B"]


def test_the_same_cohort_may_be_available_twice():
    available = [females("A", 1, july(1, 3)), females("A", 1, july(20, 30)), males("B", 2, july(18, 25))]
    plan = best_pairings(two_families(), available, PairingRequest(1))
    assert [(pair.males, pair.females, pair.window) for pair in plan.pairings] == [("B", "A", july(20, 25))]


@pytest.mark.parametrize(
    ("available", "request_", "reason"),
    [
        ([males("A", 1)], PairingRequest(1), "No female is available"),
        ([females("A", 1), males("B", 0)], PairingRequest(1), "No male is available"),
        ([], PairingRequest(1), "No female and no male"),
        ([females("A", 2), males("B", 9)], PairingRequest(3), "only 2 can be had. There are 2 females"),
        ([females("A", 9), males("B", 2)], PairingRequest(3), "only 2 can be had. The males can serve 2 clutches"),
        (
            [females("A", 1, july(1, 2)), males("B", 1, july(3, 4))],
            PairingRequest(1),
            "No male is adult at the right time for the females of A",
        ),
        (
            [females("A", 1, july(1, 5)), females("B", 2, july(8, 9)), males("A", 2, july(4, 5)), males("C", 1)],
            PairingRequest(3),
            "adult together are too few",
        ),
        ([females("A", 1), males("B", 1)], PairingRequest(0), "at least one family"),
        ([females("A", 1), males("B", 1)], PairingRequest(2, 1), "cannot be fewer than the least"),
        ([females("A", 1), males("B", 1)], PairingRequest(1, standing_frac=0.5), "needs these animals named"),
        ([Available("A", Sex.UNKNOWN, 3), males("B", 1)], PairingRequest(1), "must be sexed"),
        ([females("Z", 1), males("B", 1)], PairingRequest(1), "no cohort Z"),
    ],
)
def test_what_cannot_be_had_is_explained(available, request_, reason):
    with pytest.raises(EntryError, match=reason):
        best_pairings(two_families(), available, request_)


def possible_seasons(n_seeds):
    """Random seasons with one to four families; the others have no plan to look at."""
    found = []
    for seed in range(n_seeds):
        known, available, rng = random_season(seed, 6)
        request = random_request(known, rng, int(rng.integers(1, 5)))
        try:
            choice_of(known, available, request)
        except EntryError:
            continue
        found.append(pytest.param(known, available, request, id=str(seed)))
    return found


@pytest.mark.parametrize(("known", "available", "request_"), possible_seasons(70))
def test_every_plan_can_be_carried_out(known, available, request_):
    plan = best_pairings(known, available, request_)
    stock = {(item.cohort, item.sex): item.n for item in available}
    used_f, used_m = {}, {}
    for pair in plan.pairings:
        used_f[pair.females] = used_f.get(pair.females, 0) + pair.n_females
        used_m[pair.males] = used_m.get(pair.males, 0) + pair.n_females
        assert 1 <= pair.n_males <= min(pair.n_females, stock[pair.males, Sex.MALE])
        assert pair.kinship == known.k(pair.males, pair.females)
    assert sum(used_f.values()) == plan.n_families == request_.n_families
    assert all(n <= stock[name, Sex.FEMALE] for name, n in used_f.items())
    assert all(n <= stock[name, Sex.MALE] * request_.clutches_per_male for name, n in used_m.items())
    assert plan.kkt_residual < 1e-6
    assert plan.best_mean_kinship <= plan.mean_kinship + 1e-7
    assert np.sum([share.planned for share in plan.shares]) == pytest.approx(1)
    assert np.sum([share.best for share in plan.shares]) == pytest.approx(1)
    assert all(item.lost >= -1e-9 for item in plan.alternatives if item.males)
