from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import linregress

from boxside.core.development import (
    RateCurve,
    RateLine,
    briere_optimum_c,
    briere_rate,
    ikemoto_takai_line,
    rate_line,
)
from boxside.core.values.errors import EntryError


def test_pupal_threshold_matches_lee_2003(checks):
    lee = checks("development-rates")["lee_2003"]
    line = rate_line(lee["temperature_c"], lee["pupa_days"])
    assert line.t0_c == pytest.approx(lee["published_pupa_t0_c"], abs=lee["published_tolerance_c"])
    assert line.k_dd == pytest.approx(lee["published_pupa_k_dd"], abs=lee["published_tolerance_dd"])
    exact = lee["regression"]
    assert line.t0_c == pytest.approx(exact["t0_c"], abs=exact["tolerance"])
    assert line.k_dd == pytest.approx(exact["k_dd"], abs=exact["tolerance"])
    assert line.r2 == pytest.approx(exact["r2"], abs=exact["tolerance"])
    assert line.usable
    assert line.warnings == ()


def test_predicted_durations_match_lee_2003(checks):
    lee = checks("development-rates")["lee_2003"]
    pairs = {
        "pupa": (lee["published_pupa_t0_c"], lee["published_pupa_k_dd"]),
        "egg": (lee["predicted"]["egg_t0_c"], lee["predicted"]["egg_k_dd"]),
    }
    for stage, (t0, k) in pairs.items():
        line = RateLine(t0, k, 1.0, 3)
        for temperature, days in lee["predicted"][stage]:
            assert line.days(temperature) == pytest.approx(days, abs=lee["predicted"]["tolerance"])


def test_reduced_major_axis_matches_ikemoto_2000(checks):
    lee = checks("development-rates")["lee_2003"]
    line = ikemoto_takai_line(lee["temperature_c"], lee["pupa_days"])
    expected = lee["ikemoto_takai"]
    assert line.t0_c == pytest.approx(expected["t0_c"], abs=expected["tolerance"])
    assert line.k_dd == pytest.approx(expected["k_dd"], abs=expected["tolerance"])


def test_meaningless_larval_threshold_is_refused_matches_lee_2003(checks):
    lee = checks("development-rates")["lee_2003"]
    line = rate_line(lee["temperature_c"], lee["larva_days"])
    assert line.t0_c == pytest.approx(lee["larva"]["t0_c"], abs=lee["larva"]["tolerance"])
    assert not line.usable
    assert any("below freezing" in warning for warning in line.warnings)
    with pytest.raises(EntryError, match="below freezing"):
        line.days(20)
    with pytest.raises(EntryError, match="range of days"):
        line.need()


def test_standard_errors_match_scipy_linregress_and_the_delta_method(checks):
    lee = checks("development-rates")["lee_2003"]
    warm, rate = np.array(lee["temperature_c"], float), 1 / np.array(lee["pupa_days"])
    fit = linregress(warm, rate)
    line = rate_line(warm, 1 / rate)
    assert line.k_sd_dd == pytest.approx(fit.stderr / fit.slope**2, rel=1e-9)
    # Covariance of intercept and slope is -mean(T) var(slope).
    a, b, covariance = fit.intercept, fit.slope, -warm.mean() * fit.stderr**2
    by_a, by_b = -1 / b, a / b**2
    var_t0 = by_a**2 * fit.intercept_stderr**2 + by_b**2 * fit.stderr**2 + 2 * by_a * by_b * covariance
    assert line.t0_sd_c == pytest.approx(np.sqrt(var_t0), rel=1e-9)
    cov_t0_k = -1 / b**2 * (by_a * covariance + by_b * fit.stderr**2)
    assert line.correlation == pytest.approx(cov_t0_k / (line.t0_sd_c * line.k_sd_dd), rel=1e-9)
    assert -1 <= line.correlation < 0


def test_rate_with_an_optimum_matches_briere_1999(checks):
    briere = checks("development-rates")["briere_1999"]
    for temperature, rate in briere["rates"]:
        ours = briere_rate(temperature, briere["scale"], briere["lower_c"], briere["lethal_c"])
        assert ours == pytest.approx(rate, abs=briere["tolerance"])
    optimum = briere_optimum_c(briere["lower_c"], briere["lethal_c"])
    assert optimum == pytest.approx(briere["optimum_c"], abs=briere["optimum_tolerance"])


def test_no_development_at_ten_and_thirty_five_degrees_matches_lee_2003(checks):
    limits = checks("development-rates")["lee_2003"]["limits"]
    curve = RateCurve(lethal_c=limits["lethal_c"], reference_c=20.0)
    for temperature in (limits["cold_c"], limits["lethal_c"]):
        assert curve.effect_dd(temperature, temperature, 13.1) == 0
    assert curve.effect_dd(20, 20, 13.1) == pytest.approx(6.9)
    assert curve.effect_dd(34, 34, 13.1) < curve.effect_dd(28, 28, 13.1)


@pytest.mark.parametrize(
    ("low", "high", "tolerance"), [(18, 24, 0.003), (8, 20, 0.003), (10, 30, 0.003), (22, 38, 0.1)]
)
def test_a_day_on_the_bent_curve_matches_numerical_integration_by_scipy_quad(low, high, tolerance):
    curve = RateCurve(lethal_c=35.0, reference_c=20.0)
    mean, half = (low + high) / 2, (high - low) / 2
    whole = quad(
        lambda t: float(curve.effect_dd(mean + half * np.sin(t), mean + half * np.sin(t), 11.0)),
        -np.pi / 2,
        np.pi / 2,
        limit=200,
    )[0]
    assert curve.effect_dd(low, high, 11.0) == pytest.approx(whole / np.pi, abs=tolerance)
