"""Life tables, shares and exact tests against published and worked examples."""

import math

import pytest

from boxside.core.survival import (
    binomial_test,
    clopper_pearson,
    life_table,
    share_difference,
    stage_table,
    table_of_shares,
    wilson,
)


def test_stage_table_matches_campbell_1981(checks):
    moth = checks["gypsy_moth"]
    given, expected, within = moth["inputs"], moth["expected"], moth["tolerance"]
    names = [f"stage {i}" for i in range(len(given["entering"]))]
    table = stage_table(names, given["entering"], given["n_through"])
    assert [line.n_dying for line in table.lines] == pytest.approx(expected["dying"], abs=1e-9)
    assert [line.survival for line in table.lines] == pytest.approx(expected["survival"], abs=within)
    assert [line.k for line in table.lines] == pytest.approx(expected["k"], abs=moth["k_tolerance"])
    assert table.k == pytest.approx(expected["total_k"], abs=moth["k_tolerance"])
    assert table.k_log10 == pytest.approx(expected["total_k_log10"], abs=1e-6)
    assert table.survival == pytest.approx(expected["total_survival"], abs=5e-5)
    assert sum(line.n_dying for line in table.lines) == pytest.approx(expected["total_deaths"])
    assert 100 * (1 - table.survival) == pytest.approx(expected["mortality_pct"], abs=0.01)


def test_printed_shares_give_the_total_of_campbell_1981(checks):
    moth = checks["gypsy_moth"]
    shares = moth["expected"]["survival"]
    table = table_of_shares([str(i) for i in range(len(shares))], shares)
    assert table.survival == pytest.approx(0.023069, abs=1e-6)
    assert table.k == pytest.approx(moth["expected"]["total_k"], abs=2.5e-3)


def test_life_table_matches_unc_wilmington_teaching_table(checks):
    notes = checks["teaching_table"]
    expected, within = notes["expected"], notes["tolerance"]
    table = life_table(**notes["inputs"])
    assert table.net_rate == pytest.approx(expected["net_rate"], abs=within)
    assert table.generation * table.net_rate == pytest.approx(expected["sum_x_l_m"], abs=within)
    for name in ("generation", "approx_rate", "rate"):
        assert getattr(table, name) == pytest.approx(expected[name], abs=within), name
    assert table.factor == pytest.approx(math.exp(expected["rate"]), abs=1e-6)


def test_growth_identities_match_lemnia_2005(checks):
    """A cohort that bears all its young at one age has exactly the published relation of R0, r and T."""
    beetle = checks["lemnia"]
    r0, rate = beetle["inputs"]["net_rate"], beetle["inputs"]["rate"]
    age = math.log(r0) / rate
    table = life_table([0.0, age], [1.0, 1.0], [0.0, r0])
    assert table.rate == pytest.approx(rate, abs=1e-12)
    assert table.factor == pytest.approx(beetle["expected"]["factor"], abs=beetle["lambda_tolerance"])
    assert table.generation == pytest.approx(beetle["expected"]["generation"], abs=beetle["generation_tolerance"])


def test_share_intervals_match_newcombe_1998(checks):
    within = checks["wilson"]["tolerance"]
    for row in checks["wilson"]["rows"]:
        score = wilson(row["count"], row["total"]).interval
        assert [score.low, score.high] == pytest.approx(row["score"], abs=within)
        if "exact" in row:
            exact = clopper_pearson(row["count"], row["total"]).interval
            assert [exact.low, exact.high] == pytest.approx(row["exact"], abs=within)


def test_share_difference_matches_newcombe_1998(checks):
    for row in checks["newcombe_difference"]["rows"]:
        interval = share_difference(tuple(row["first"]), tuple(row["second"])).interval
        assert [interval.low, interval.high] == pytest.approx(
            row["interval"], abs=checks["newcombe_difference"]["tolerance"]
        )


def test_sex_ratio_test_matches_conover_1971(checks):
    for row in checks["binomial"]["rows"]:
        p = binomial_test(row["count"], row["total"], row["share"])
        assert p == pytest.approx(row["p_value"], abs=checks["binomial"]["tolerance"])
