"""Ranges that hold eight of ten must hold eight of ten: simulated clutches in simulated rooms."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from boxside.core.development import (
    Started,
    expected_date,
    fit_climate,
    learned_need,
    prior_need,
    single_sine,
    steady_climate,
)
from boxside.core.values.forecast import DaysBand, DayTemperature, Outlook, PastInterval, ThermalNeed

FIRST = date(2024, 1, 1)


def a_room(rng: np.random.Generator, n_days: int) -> tuple[np.ndarray, np.ndarray]:
    """Season, months that differ, days that resemble the day before: written apart from the code tested."""
    season = 18 - 5 * np.cos(2 * np.pi * np.arange(n_days) / 365.2425 - 0.4)
    months = np.repeat(rng.normal(0, 0.5, n_days // 30 + 1), 30)[:n_days]
    days, x = np.zeros(n_days), 0.0
    for i in range(n_days):
        x = 0.7 * x + np.sqrt(1 - 0.49) * rng.normal()
        days[i] = x
    mean = season + months + days
    return mean - 2.5, mean + 2.5


def day_over(effect: np.ndarray, began: int, at_frac: float, needs: float) -> int:
    """The day on which a clutch laid at a fraction of a day has gathered what it needs."""
    got, day = effect[began] * (1 - at_frac), began
    while got < needs:
        day += 1
        got += effect[day]
    return day


def truth(need, rng):
    """One colony's true threshold, and a source of its clutches' needs, drawn from the profile's law."""
    node = rng.choice(need.t0_c.size, p=need.weight)
    spread = np.sqrt(need.scale[node] / rng.gamma(need.shape))
    centre = need.mean[node] + spread / np.sqrt(need.clutches) * rng.normal()
    return need.t0_c[node], lambda: float(np.exp(centre + spread * rng.normal()))


def test_the_range_of_a_temperature_sum_holds_eight_of_ten_of_500_clutches():
    rng = np.random.default_rng(2024)
    egg = ThermalNeed(10.6, 214.8, 0.8, 15.0, correlation=-0.8)
    inside = n = 0
    while n < 500:
        low, high = a_room(rng, 700)
        t0, clutch = truth(prior_need(egg), rng)
        effect = single_sine(low, high, t0)
        seen = []
        for began in rng.integers(150, 210, 4):
            over = day_over(effect, int(began), rng.uniform(), clutch())
            seen.append(PastInterval(FIRST + timedelta(int(began)), FIRST + timedelta(over)))
        record = [DayTemperature(FIRST + timedelta(i), float(low[i]), float(high[i])) for i in range(520)]
        climate = fit_climate(record)
        over, looked = day_over(effect, 515, rng.uniform(), clutch()), 520
        if over <= looked:
            continue
        forecast = expected_date(
            "hatch",
            Started(FIRST + timedelta(515), FIRST + timedelta(515)),
            learned_need(egg, seen, climate.days),
            climate,
            FIRST + timedelta(looked),
            rng,
            300,
        )
        assert forecast.outlook is Outlook.EXPECTED
        n += 1
        inside += forecast.earliest <= FIRST + timedelta(over) <= forecast.latest
    print(f"a temperature sum: the 80 % range held {inside / 5:.1f} % of 500 clutches")
    assert 0.75 <= inside / 500 <= 0.85


def test_the_range_of_a_band_of_days_holds_eight_of_ten_of_500_clutches():
    rng = np.random.default_rng(2025)
    band = DaysBand(24, 36)
    inside = 0
    for _ in range(500):
        _, clutch = truth(prior_need(band), rng)
        over = [day_over(np.ones(400), 0, rng.uniform(), clutch()) for _ in range(4)]
        seen = [PastInterval(FIRST, FIRST + timedelta(day + 1)) for day in over[1:]]
        forecast = expected_date(
            "hatch", Started(FIRST, FIRST), learned_need(band, seen), steady_climate(20, 2), FIRST, rng, 500
        )
        inside += forecast.earliest <= FIRST + timedelta(over[0]) <= forecast.latest
    print(f"a band of days: the 80 % range held {inside / 5:.1f} % of 500 clutches")
    assert 0.75 <= inside / 500 <= 0.85
