from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from boxside.core.development import learned_need, prior_need
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand, DayTemperature, PastInterval, ThermalNeed

START = date(2025, 5, 1)
PUPA = ThermalNeed(13.1, 229.2, 0.8, 20.0, correlation=-0.8, source="Lee et al. 2003; errors invented")


def seen(*days: int) -> list[PastInterval]:
    return [PastInterval(START, START + timedelta(days=d), gap_days=0) for d in days]


def law(need):
    """The predictive law of the log need where days are counted: Student's t."""
    scale = math.sqrt(need.scale[0] / need.shape * (1 + 1 / need.clutches))
    return stats.t(2 * need.shape, need.mean[0], scale)


def test_the_ends_of_a_band_are_its_ten_and_ninety_percent_points():
    predictive = law(prior_need(DaysBand(24, 36)))
    assert math.exp(predictive.ppf(0.1)) == pytest.approx(24, rel=1e-6)
    assert math.exp(predictive.ppf(0.9)) == pytest.approx(36, rel=1e-6)


def test_draws_follow_the_band():
    _, days = prior_need(DaysBand(24, 36)).draw(20_000, np.random.default_rng(1))
    assert np.mean((days >= 24) & (days <= 36)) == pytest.approx(0.8, abs=0.01)


def test_a_single_figure_is_read_as_ten_percent_either_way():
    predictive = law(prior_need(DaysBand(30, 30)))
    assert math.exp(predictive.ppf(0.9)) == pytest.approx(33, rel=1e-6)


def test_one_clutch_leaves_the_profile_in_charge_and_thirty_take_over():
    band = DaysBand(24, 36)
    middle = math.sqrt(24 * 36)
    one = math.exp(learned_need(band, seen(50)).mean[0])
    assert middle < one < middle + (50 - middle) / 3
    many = learned_need(band, seen(*[50] * 30))
    assert math.exp(many.mean[0]) == pytest.approx(50, rel=0.07)
    assert many.n_seen == 30


def test_the_update_is_the_textbook_conjugate_one():
    # Gelman et al. 2013, section 3.3, with kappa0 = 4, nu0 = 8 and n = 3.
    prior = prior_need(DaysBand(24, 36))
    logs = np.log([27, 30, 41])
    need = learned_need(DaysBand(24, 36), seen(27, 30, 41))
    mean, squares = logs.mean(), np.sum((logs - logs.mean()) ** 2)
    assert need.mean[0] == pytest.approx((4 * prior.mean[0] + 3 * mean) / 7)
    assert need.clutches == 7
    assert 2 * need.shape == 8 + 3
    nu_sigma2 = 2 * prior.scale[0] + squares + 4 * 3 / 7 * (mean - prior.mean[0]) ** 2
    assert 2 * need.scale[0] == pytest.approx(nu_sigma2)


def test_own_intervals_narrow_the_law_where_they_agree():
    before, after = law(prior_need(DaysBand(24, 36))), law(learned_need(DaysBand(24, 36), seen(*[30] * 8)))
    # Eight that agree, against a profile whose spread counts like eight degrees of freedom.
    assert after.ppf(0.9) - after.ppf(0.1) < (before.ppf(0.9) - before.ppf(0.1)) * 0.7


def steady(n_days: int, mean: float, first: date = START) -> list[DayTemperature]:
    return [DayTemperature(first + timedelta(days=i), mean - 1, mean + 1) for i in range(n_days)]


def test_the_noted_end_lies_in_the_gap_between_two_looks():
    assert PastInterval(START, START + timedelta(days=20), gap_days=3).days == 18.5
    daily = learned_need(PUPA, [PastInterval(START, START + timedelta(days=30), 1)], steady(60, 21))
    rarely = learned_need(PUPA, [PastInterval(START, START + timedelta(days=30), 7)], steady(60, 21))
    assert daily.weight @ daily.mean > rarely.weight @ rarely.mean


def test_a_slow_colony_raises_the_sum_it_needs():
    prior = prior_need(PUPA)
    # At 21 C the profile says 29 days; these took 36.
    own = [PastInterval(START, START + timedelta(days=36), 0)] * 12
    need = learned_need(PUPA, own, steady(60, 21))
    predicted = np.exp(need.mean) / (21 - need.t0_c)
    assert need.weight @ predicted == pytest.approx(36, rel=0.06)
    assert prior.weight @ (np.exp(prior.mean) / (21 - prior.t0_c)) == pytest.approx(29, rel=0.05)


def test_rearings_at_two_temperatures_move_the_threshold():
    # True pair 11.5 C and 300 degree-days, three standard errors from nothing: T0 goes down.
    warm, cool = steady(80, 25, START), steady(80, 17, START + timedelta(days=80))
    own = [PastInterval(START, START + timedelta(days=22), 0)] * 10
    late = START + timedelta(days=80)
    own += [PastInterval(late, late + timedelta(days=55), 0)] * 10
    need = learned_need(PUPA, own, [*warm, *cool])
    assert need.weight @ need.t0_c < PUPA.t0_c - 0.5
    assert need.weight.sum() == pytest.approx(1)


def test_intervals_without_temperatures_are_left_out_and_counted():
    outside = PastInterval(START - timedelta(days=400), START - timedelta(days=370))
    inside = PastInterval(START, START + timedelta(days=29))
    need = learned_need(PUPA, [outside, inside], steady(60, 21))
    assert (need.n_seen, need.n_left_out) == (1, 1)
    assert learned_need(PUPA, [outside]).n_left_out == 1


def test_a_threshold_known_for_certain_has_one_node():
    need = prior_need(ThermalNeed(10.6, 214.8, 0.0, 0.0))
    assert need.t0_c.tolist() == [10.6]
    t0, sums = need.draw(5000, np.random.default_rng(2))
    assert set(t0) == {10.6}
    assert np.median(sums) == pytest.approx(214.8, rel=0.02)


@pytest.mark.parametrize("known", [DaysBand(0, 5), DaysBand(9, 5), ThermalNeed(-2, 200, 1, 1), ThermalNeed(9, 0, 1, 1)])
def test_a_profile_that_means_nothing_is_refused(known):
    with pytest.raises(EntryError, match="Correct the profile"):
        prior_need(known)


def test_a_stage_that_ends_before_it_began_is_refused():
    with pytest.raises(EntryError, match="Nothing was learned"):
        learned_need(DaysBand(24, 36), [PastInterval(START, START)])
