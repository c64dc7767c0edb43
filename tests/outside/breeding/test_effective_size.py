"""Effective size and decay, as printed."""

import pytest

from boxside.core.breeding import (
    Scheme,
    differentiation,
    diversity_after,
    inbreeding_after,
    kinship_ahead,
    size_from_families,
    size_from_inbreeding,
    size_from_sexes,
    size_needed,
    size_over_generations,
)
from tests.outside.breeding.published import PUBLISHED


def cases(name):
    check = PUBLISHED[name]
    return [pytest.param(case, check["tolerance"], id=str(case)) for case in check["cases"]]


@pytest.mark.parametrize(("case", "tolerance"), cases("sex_ratio"))
def test_sex_ratio_matches_holsinger_2008(case, tolerance):
    assert size_from_sexes(case["males"], case["females"]) == pytest.approx(case["ne"], abs=tolerance)


@pytest.mark.parametrize(("case", "tolerance"), cases("generations"))
def test_changing_size_matches_wright_1931(case, tolerance):
    assert size_over_generations(case["sizes"]) == pytest.approx(case["ne"], abs=tolerance)


@pytest.mark.parametrize(("case", "tolerance"), cases("family_size"))
def test_family_size_matches_holsinger_2008(case, tolerance):
    assert size_from_families(case["n"], case["variance"]) == pytest.approx(case["ne"], abs=tolerance)


@pytest.mark.parametrize(("case", "tolerance"), cases("inbreeding_by_time"))
def test_inbreeding_by_time_matches_wright_1931(case, tolerance):
    assert inbreeding_after(case["ne"], case["t"]) == pytest.approx(case["f"], abs=tolerance)
    assert diversity_after(case["ne"], case["t"]) == pytest.approx(1 - case["f"], abs=tolerance)
    if case["t"] < 10:
        assert size_from_inbreeding(0.0, case["f"], case["t"]) == pytest.approx(case["ne"], rel=1e-4)


@pytest.mark.parametrize(("case", "tolerance"), cases("century"))
def test_size_for_a_century_matches_soule_1986(case, tolerance):
    assert size_needed(0.9, 100, case["years"]) == pytest.approx(case["ne"], abs=tolerance)


@pytest.mark.parametrize(("case", "tolerance"), cases("migrants"))
def test_differentiation_matches_wright_1931(case, tolerance):
    assert differentiation(case["n"]) == pytest.approx(case["fst"], abs=tolerance)


@pytest.mark.parametrize(("n_males", "n_females"), [(50, 50), (20, 180), (400, 100), (1000, 1000)])
def test_large_groups_approach_wright_1931(n_males, n_females):
    """Every egg its own male and chance families (p = 1/n): the group decays at 1 / (2 Ne) a generation."""
    t = 20
    scheme = Scheme(n_dams=n_females, n_sires=n_males, males_per_clutch=0)
    exact = kinship_ahead(0.0, 0.0, scheme, t)[-1]
    expected = inbreeding_after(size_from_sexes(n_males, n_females), t)
    # What is left is of order 1 / Ne**2 a generation: a tenth of a per cent to a few, less in larger groups.
    assert exact == pytest.approx(expected, rel=3.0 / min(n_males, n_females))
    assert exact > 0
