from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.development import (
    Started,
    expected_date,
    fit_climate,
    learned_need,
    prior_need,
    steady_climate,
)
from boxside.core.development.simulate import completion_days, cumulated, draw_starts, temperature_paths
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand, DayTemperature, Outlook, PastInterval, ThermalNeed

LAID = date(2026, 7, 1)
EGG = ThermalNeed(10.6, 214.8, 0.5, 10.0, correlation=-0.8, source="Lee et al. 2003; errors invented")


def on(day: date) -> Started:
    return Started(day, day)


def expect(need, climate=None, as_of=LAID, started=None, seed=1, n=1000):
    return expected_date(
        "first larvae of B07",
        started or on(LAID),
        need,
        climate or steady_climate(20, 1.5),
        as_of,
        np.random.default_rng(seed),
        n,
    )


def days_after(day: date | None) -> int:
    assert day is not None
    return (day - LAID).days


def test_a_band_of_days_becomes_a_range_of_dates():
    forecast = expect(prior_need(DaysBand(26, 34)), n=5000)
    assert forecast.outlook is Outlook.EXPECTED
    assert days_after(forecast.earliest) == pytest.approx(26, abs=1)
    assert days_after(forecast.likely) == pytest.approx(30, abs=1)
    assert days_after(forecast.latest) == pytest.approx(34, abs=1)
    assert [reason.rule for reason in forecast.reasons] == ["began", "days"]
    assert "the profile alone" in forecast.reasons[1].text


def test_a_temperature_sum_is_met_sooner_where_it_is_warm():
    likely = [days_after(expect(prior_need(EGG), steady_climate(c, 1.5)).likely) for c in (16, 20, 24)]
    # K / (T - T0) of the same pair gives 39.8, 22.9 and 16.0 days.
    assert likely == pytest.approx([39.8, 22.9, 16.0], abs=2)


def test_the_same_source_of_chance_gives_the_same_answer():
    assert expect(prior_need(EGG), seed=4) == expect(prior_need(EGG), seed=4)


def test_chances_rise_from_the_day_after_the_last_look():
    forecast = expect(prior_need(EGG), as_of=LAID + timedelta(days=15))
    shares = [chance.by_frac for chance in forecast.chances]
    assert forecast.chances[0].on == LAID + timedelta(days=16)
    assert shares == sorted(shares)
    assert 0.99 <= shares[-1] <= 1
    by = {chance.on: chance.by_frac for chance in forecast.chances}
    assert by[forecast.earliest - timedelta(days=1)] < 0.1 + 0.1
    assert by[forecast.latest] >= 0.8


def test_every_look_without_larvae_moves_the_range_on():
    likely = [days_after(expect(prior_need(EGG), as_of=LAID + timedelta(days=d)).likely) for d in (0, 22, 28)]
    assert likely[0] <= likely[1] < likely[2]
    assert likely[2] > 28


def test_what_should_be_over_long_ago_is_called_overdue():
    forecast = expect(prior_need(DaysBand(26, 34)), as_of=LAID + timedelta(days=90))
    assert forecast.outlook is Outlook.OVERDUE
    assert (forecast.earliest, forecast.likely, forecast.latest) == (None, None, None)
    assert forecast.reasons[-1].rule == "overdue"
    assert "100 of 100" in forecast.reasons[-1].text or "99 of 100" in forecast.reasons[-1].text


def test_below_the_threshold_nothing_is_expected():
    forecast = expect(prior_need(EGG), steady_climate(5, 1, 0.5))
    assert forecast.outlook is Outlook.STALLED
    assert forecast.likely is None
    assert forecast.reasons[-1].rule == "stalled"


def test_an_uncertain_first_day_widens_the_range():
    sure = expect(prior_need(DaysBand(29, 31)))
    unsure = expect(
        prior_need(DaysBand(29, 31)),
        as_of=LAID + timedelta(days=14),
        started=Started(LAID, LAID + timedelta(days=14)),
    )
    assert unsure.latest - unsure.earliest > sure.latest - sure.earliest
    assert unsure.reasons[0].days == 14


def test_reasons_name_filled_days_left_out_intervals_and_own_records():
    record = [DayTemperature(LAID - timedelta(days=d), 17, 21) for d in range(40, 0, -1) if d not in (20, 21)]
    climate = fit_climate(record)
    outside = PastInterval(date(2025, 7, 1), date(2025, 7, 28))
    inside = PastInterval(LAID - timedelta(days=38), LAID - timedelta(days=10))
    forecast = expect(learned_need(EGG, [outside, inside], climate.days), climate)
    said = {reason.rule: reason.text for reason in forecast.reasons}
    assert said["filled"] == "2 days without a measurement were filled in."
    assert said["left_out"].startswith("1 own intervals")
    assert "1 own intervals" in said["temperature_sum"]
    assert "19.0 C" in said["climate"]
    assert "the level of the last records" in said["climate"]
    stated = {reason.rule: reason.text for reason in expect(prior_need(EGG)).reasons}
    assert "what is said of the room" in stated["climate"]


def test_a_stage_that_has_not_begun_is_refused():
    with pytest.raises(EntryError, match="begun by the day"):
        expect(prior_need(EGG), as_of=LAID - timedelta(days=1))
    with pytest.raises(EntryError, match="latest first day"):
        expect(prior_need(EGG), started=Started(LAID, LAID - timedelta(days=1)))


@settings(deadline=None, max_examples=40)
@given(st.floats(12, 24), st.floats(0.1, 6), st.integers(0, 2**32 - 1), st.sampled_from([None, 22.0, 28.0]))
def test_more_warmth_never_makes_it_later_below_the_optimum(mean, warmer, seed, upper):
    need = prior_need(ThermalNeed(10.6, 214.8, 0.5, 10.0, upper_c=upper))
    rng = np.random.default_rng(seed)
    paths = temperature_paths(steady_climate(mean, 1.5), LAID, 200, 30, rng)
    starts = draw_starts(on(LAID), 30, rng)
    t0, wanted = need.draw(30, rng)
    cool = completion_days(cumulated(need, t0, paths, starts, wanted), wanted)
    warm_paths = paths.shifted(warmer, LAID + timedelta(days=3))
    warm = completion_days(cumulated(need, t0, warm_paths, starts, wanted), wanted)
    assert np.all(warm <= cool)


def test_beyond_the_optimum_more_warmth_makes_it_later():
    bent = prior_need(ThermalNeed(10.6, 214.8, 0.0, 0.0, lethal_c=35.0, reference_c=20.0))
    at = {c: days_after(expect(bent, steady_climate(c, 1, 0.3)).likely) for c in (20, 28, 34)}
    assert at[28] < at[20]
    assert at[34] > at[28]


def test_chunked_sums_are_the_plain_sums():
    need = prior_need(EGG)
    rng = np.random.default_rng(3)
    paths = temperature_paths(steady_climate(14, 2), LAID, 150, 20, rng)
    starts, t0 = np.full(20, 4), np.full(20, 10.6)
    gathered = cumulated(need, t0, paths, starts, np.full(20, 1e9))
    assert gathered.shape == (20, 150)
    effect = need.curve.effect_dd(paths.min_c, paths.max_c, 10.6)
    effect[:, :4] = 0
    effect[:, 4] /= 2
    assert gathered == pytest.approx(np.cumsum(effect, axis=1))
    early = cumulated(need, t0, paths, starts, np.full(20, 5.0))
    assert early.shape == (20, 60)
    many = completion_days(gathered, np.array([[10.0, 100.0, 1e9]] * 20))
    assert np.all(np.isinf(many[:, 2]))
    assert np.all(many[:, 0] < many[:, 1])
