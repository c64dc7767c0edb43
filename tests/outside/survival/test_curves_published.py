"""Survival curves against the published remission data of Freireich et al. and Finkelstein & Wolfe."""

import math

import pytest

from boxside.core.survival import (
    Between,
    Life,
    group_test,
    interval_curve,
    quantile_day,
    quantile_interval,
    survival_curve,
)


@pytest.fixture
def leukemia(checks):
    data = checks["freireich"]["inputs"]
    treated = [Life(t, died=True) for t in data["treated"]]
    treated += [Life(t, died=False) for t in data["treated_left"]]
    return treated, [Life(t, died=True) for t in data["placebo"]]


def test_survival_curve_matches_freireich_1963(checks, leukemia):
    expected, within = checks["freireich"]["expected"], checks["freireich"]["tolerance"]
    curve = survival_curve(leukemia[0])
    assert list(curve.days) == expected["days"]
    assert list(curve.n_at_risk) == expected["n_at_risk"]
    assert list(curve.n_died) == expected["n_died"]
    for name in ("survival", "std_error", "low", "high"):
        assert list(getattr(curve, name)) == pytest.approx(expected[name], abs=within), name


def test_placebo_curve_matches_freireich_1963(checks, leukemia):
    expected, within = checks["freireich"]["expected"], checks["freireich"]["tolerance"]
    curve = survival_curve(leukemia[1])
    seen = [curve.at(day) for day in expected["placebo_days"]]
    assert seen == pytest.approx(expected["placebo_survival"], abs=within)


def test_medians_match_freireich_1963(checks, leukemia):
    expected = checks["freireich"]["expected"]
    treated, placebo = (survival_curve(lives) for lives in leukemia)
    assert quantile_day(treated) == expected["median_treated"]
    assert quantile_day(placebo) == expected["median_placebo"]
    assert quantile_interval(treated).holds(expected["median_treated"])
    assert quantile_interval(treated).high == math.inf


def test_log_rank_matches_freireich_1963(checks, leukemia):
    expected, within = checks["freireich"]["expected"], checks["freireich"]["tolerance"]
    result = group_test(leukemia)
    assert result.observed[0] == expected["observed"]
    assert result.expected[0] == pytest.approx(expected["log_rank_expected"], abs=within)
    assert result.variance[0] == pytest.approx(expected["variance"], abs=within)
    assert result.chi2 == pytest.approx(expected["chi2"], abs=within)
    assert round(result.chi2, 2) == expected["textbook_chi2"]
    assert result.p_value == pytest.approx(expected["p_value"], rel=1e-5)


@pytest.fixture
def cosmesis(checks):
    words = checks["finkelstein_wolfe"]["inputs"]["rows"].split()
    pairs = [word.rstrip("-").split(",") for word in words]
    return [Between(float(pair[0]), float(pair[1]) if len(pair) == 2 else math.inf) for pair in pairs]


def test_inspected_survival_matches_finkelstein_wolfe_1985(checks, cosmesis):
    expected, within = checks["finkelstein_wolfe"]["expected"], checks["finkelstein_wolfe"]["tolerance"]
    curve = interval_curve(cosmesis)
    rows = zip(curve.after, curve.by, curve.mass, strict=True)
    kept = [row for row in rows if row[2] > within]
    assert curve.n == expected["n"]
    assert [row[0] for row in kept] == expected["after"]
    assert [row[1] for row in kept] == expected["by"]
    assert [row[2] for row in kept] == pytest.approx(expected["mass"], abs=within)
    assert curve.log_likelihood == pytest.approx(expected["log_likelihood"], abs=within)


def test_inspected_survival_matches_fay_shaw_2010(checks, cosmesis):
    published = checks["finkelstein_wolfe"]
    mass = [m for m in interval_curve(cosmesis).mass if m > 1e-6]
    assert mass == pytest.approx(published["expected"]["printed_mass"], abs=published["printed_tolerance"])
