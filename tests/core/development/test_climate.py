from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from boxside.core.development import Climate, fill_gaps, fit_climate, steady_climate
from boxside.core.development.simulate import temperature_paths
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DayTemperature

START = date(2025, 1, 1)


def a_year(n_days: int, skip: frozenset[int] = frozenset(), level=lambda t: 17.0) -> list[DayTemperature]:
    days = []
    for i in range(n_days):
        if i not in skip:
            mean = level(i)
            days.append(DayTemperature(START + timedelta(days=i), mean - 2, mean + 2))
    return days


def wave(i: int) -> float:
    on = START + timedelta(days=i)
    return 17 - 6 * np.cos(2 * np.pi * on.toordinal() / 365.2425)


def test_a_year_of_records_gives_back_its_season():
    climate = fit_climate(a_year(365, level=wave))
    assert climate.seasonal
    mean, half = climate.typical(date(2026, 7, 1), 3)
    expected = [wave((date(2026, 7, 1) - START).days + i) for i in range(3)]
    assert mean == pytest.approx(expected, abs=1e-6)
    assert half == pytest.approx([2.0, 2.0, 2.0])
    assert climate.sd_c == pytest.approx(0, abs=1e-6)


def test_a_few_weeks_stand_for_all_that_follows_with_a_wide_allowance():
    climate = fit_climate(a_year(60, level=lambda i: 10.0 if i < 30 else 20.0))
    assert not climate.seasonal
    assert climate.typical(date(2026, 1, 1), 1)[0][0] == pytest.approx(20.0)
    assert climate.level_sd_c == 2.0


def test_filled_days_are_marked_and_never_taken_for_measurements():
    gaps = frozenset({10, 20, 21, 22, 23, 24})
    climate = fit_climate(a_year(40, skip=gaps, level=lambda i: 17.0 + i % 7))
    assert len(climate.days) == 40
    assert [i for i, day in enumerate(climate.days) if day.filled] == [10, 20, 21, 22, 23, 24]
    assert climate.n_filled == 6
    again = fit_climate(climate.days)
    assert again.mean_c == climate.mean_c
    assert again.n_filled == 6


def test_a_short_gap_is_bridged_by_a_line_and_a_long_one_by_the_usual():
    def day(i: int, low: float, high: float) -> DayTemperature:
        return DayTemperature(START + timedelta(days=i), low, high)

    short = fill_gaps([day(0, 10, 20), day(2, 14, 22)], steady_climate(30, 1))
    assert short[1] == DayTemperature(START + timedelta(days=1), 12, 21, True)
    long = fill_gaps([day(0, 10, 20), day(6, 14, 22)], steady_climate(30, 1))
    assert [d.min_c for d in long[1:-1]] == [29] * 5
    assert [d.max_c for d in long[1:-1]] == [31] * 5


def test_correlation_and_spread_of_days_are_found_again():
    rng = np.random.default_rng(5)
    departure, x = [], 0.0
    for _ in range(730):
        x = 0.6 * x + 1.5 * np.sqrt(1 - 0.36) * rng.standard_normal()
        departure.append(x)
    climate = fit_climate(a_year(730, level=lambda i: 15 + departure[i]))
    assert climate.sd_c == pytest.approx(1.5, abs=0.25)
    assert climate.lag == pytest.approx(0.6, abs=0.1)
    assert climate.level_sd_c < 0.5


def test_levels_that_differ_by_month_are_allowed_for():
    rng = np.random.default_rng(6)
    levels = rng.normal(0, 1.5, 30)
    climate = fit_climate(a_year(900, level=lambda i: 15 + levels[i // 30] + rng.normal(0, 0.3)))
    assert climate.level_sd_c == pytest.approx(1.5, abs=0.5)


def test_measured_days_are_certain_and_days_to_come_are_not():
    rng = np.random.default_rng(7)
    climate = fit_climate(a_year(60, level=lambda i: 17 + rng.normal()))
    first = START + timedelta(days=50)
    paths = temperature_paths(climate, first, 30, 200, np.random.default_rng(8))
    assert paths.last_known == 10
    measured = [day.min_c for day in climate.days[50:]]
    assert paths.min_c[:, :10] == pytest.approx(np.tile(measured, (200, 1)))
    assert np.all(paths.min_c[:, 10:].std(axis=0) > 1)
    # Close to the last measurement days resemble it more than later on.
    assert paths.min_c[:, 10].std() < paths.min_c[:, 25].std() * 1.05


def test_a_warm_spell_wears_off_over_the_days_to_come():
    spell = DayTemperature(START, 21.0, 25.0)
    climate = Climate((18, 0, 0), (2, 0, 0), 1.0, 0.8, 0.0, True, (spell,))
    paths = temperature_paths(climate, START, 20, 4000, np.random.default_rng(9))
    mean = ((paths.min_c + paths.max_c) / 2).mean(axis=0)
    # Five degrees above the usual, of which 0.8 is left after each day.
    assert mean[:6] == pytest.approx([18 + 5 * 0.8**i for i in range(6)], abs=0.1)
    assert mean[-1] == pytest.approx(18, abs=0.15)


def test_too_few_days_are_refused_and_a_stated_temperature_will_do():
    with pytest.raises(EntryError, match="at least seven days"):
        fit_climate(a_year(6))
    with pytest.raises(EntryError, match="below its lowest"):
        fit_climate([*a_year(7), DayTemperature(START + timedelta(days=9), 20, 10)])
    mean, half = steady_climate(19, 1.5).typical(START, 400)
    assert set(mean) == {19.0}
    assert set(half) == {1.5}
