from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from boxside.core.development import (
    Averaging,
    double_sine,
    double_triangle,
    simple_average,
    single_sine,
    single_triangle,
)


def _by_all_methods(low, high, then, lower, upper):
    return {
        "single_triangle": single_triangle(low, high, lower, upper),
        "double_triangle": double_triangle(low, high, then, lower, upper),
        "single_sine": single_sine(low, high, lower, upper),
        "double_sine": double_sine(low, high, then, lower, upper),
    }


def test_degree_days_by_four_methods_matches_zalom_1983(checks):
    table = checks("development-degree-days")["zalom_1983"]
    misprint = table["misprint"]
    compared = 0
    for row in table["rows"]:
        printed = dict(zip(table["columns"], row, strict=True))
        day = (printed["min"], printed["max"], printed["next_min"])
        ours = _by_all_methods(*day, table["lower"], table["upper"])
        for method, value in ours.items():
            if list(day) == misprint["row"] and method == misprint["method"]:
                assert printed[method] == misprint["printed"]
                assert value == pytest.approx(misprint["exact"], abs=1e-12)
                continue
            assert value == pytest.approx(printed[method], abs=table["tolerance"]), (day, method)
            compared += 1
    assert compared == 47


def test_the_misprint_contradicts_its_own_row_and_matches_zalom_1983(checks):
    # The printed table itself refutes the figure: a double triangle is the mean of two single ones.
    table = checks("development-degree-days")["zalom_1983"]
    low, high, then = table["misprint"]["row"]
    rise = next(row for row in table["rows"] if row[:3] == [low, high, then])[3]
    fall = quad(
        lambda x: min(max(high + (then - high) * x, table["lower"]), table["upper"]) - table["lower"],
        0,
        1,
        points=[0.4],
    )[0]
    assert (rise + fall) / 2 == pytest.approx(table["misprint"]["exact"], abs=1e-9)
    assert abs(table["misprint"]["printed"] - (rise + fall) / 2) > 2


def test_six_positions_of_the_wave_matches_allen_1976(checks):
    table = checks("development-degree-days")["six_cases"]
    for low, high, sine, triangle in table["rows"]:
        assert single_sine(low, high, table["lower"], table["upper"]) == pytest.approx(sine, abs=table["tolerance"])
        assert single_triangle(low, high, table["lower"], table["upper"]) == pytest.approx(
            triangle, abs=table["tolerance"]
        )


def test_simple_average_by_both_readings_matches_mcmaster_1997(checks):
    table = checks("development-degree-days")["mcmaster_1997"]
    for high, low, method_1, method_2 in table["rows"]:
        assert simple_average(low, high, table["lower"]) == pytest.approx(method_1, abs=table["tolerance"])
        assert simple_average(low, high, table["lower"], averaging=Averaging.EACH) == pytest.approx(
            method_2, abs=table["tolerance"]
        )


def test_sine_and_triangle_match_numerical_integration_by_scipy_quad():
    rng = np.random.default_rng(1969)
    for _ in range(150):
        low = rng.uniform(-10, 35)
        high, lower = low + rng.uniform(0, 20), rng.uniform(0, 20)
        upper = lower + rng.uniform(1, 20)
        mean, half = (low + high) / 2, (high - low) / 2

        def gain(temperature, lower=lower, upper=upper):
            return min(max(temperature, lower), upper) - lower

        kinks = [np.arcsin(np.clip((x - mean) / half, -1, 1)) for x in (lower, upper)]
        sine = quad(lambda t, m=mean, a=half, g=gain: g(m + a * np.sin(t)), -np.pi / 2, np.pi / 2, points=kinks)
        bends = [np.clip((x - low) / (high - low), 0, 1) for x in (lower, upper)]
        line = quad(lambda x, a=low, b=high, g=gain: g(a + (b - a) * x), 0, 1, points=bends)
        assert single_sine(low, high, lower, upper) == pytest.approx(sine[0] / np.pi, abs=1e-6)
        assert single_triangle(low, high, lower, upper) == pytest.approx(line[0], abs=1e-6)
