"""Deaths known between two inspections: half-open intervals, classes, bounds and quantiles."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.survival import (
    Between,
    bootstrap_interval_quantile,
    bootstrap_quantile,
    bootstrap_survival,
    interval_curve,
    interval_quantile,
    percentile_interval,
)
from boxside.core.survival.curve import Life
from boxside.core.survival.inspections import equivalence_classes, membership, unique_intervals

quick = settings(deadline=None, max_examples=60)
rows_of = st.lists(
    st.builds(
        lambda a, w, n: Between(float(a), float(a + w), n),
        st.integers(0, 20),
        st.integers(1, 9),
        st.integers(1, 5),
    ),
    min_size=1,
    max_size=12,
)


def test_intervals_that_touch_share_no_day():
    """(0, 7] and (7, 14] are two inspections in a row: a death in one cannot be a death in the other."""
    curve = interval_curve([Between(0, 7), Between(7, 14)])
    assert curve.mass == pytest.approx((0.5, 0.5))
    assert list(zip(curve.after, curve.by, strict=True)) == [(0, 7), (7, 14)]


def test_classes_are_the_innermost_intervals():
    """Peto's construction by hand: (0,4], (2,6], (5,8] overlap in (2,4] and (5,6]."""
    classes = equivalence_classes(np.array([[0.0, 4.0], [2.0, 6.0], [5.0, 8.0]]))
    assert classes.tolist() == [[2.0, 4.0], [5.0, 6.0]]


def test_masses_of_a_case_solved_by_hand():
    """Likelihood p1 (p1 + p2) p2 with p1 + p2 = 1 is greatest at one half each."""
    curve = interval_curve([Between(0, 4), Between(2, 6), Between(5, 8)])
    assert curve.mass == pytest.approx((0.5, 0.5))
    assert curve.log_likelihood == pytest.approx(2 * math.log(0.5))


def test_shared_inspections_without_censoring_give_plain_shares():
    curve = interval_curve([Between(0, 7, 2), Between(7, 14, 5), Between(14, 21, 3)])
    assert curve.mass == pytest.approx((0.2, 0.5, 0.3))
    assert curve.bounds_at(7) == pytest.approx((0.8, 0.8))
    assert curve.bounds_at(10) == pytest.approx((0.3, 0.8))


def test_animals_still_alive_carry_mass_to_infinity():
    curve = interval_curve([Between(0, 7, 6), Between(7, math.inf, 4)])
    assert curve.by[-1] == math.inf
    assert curve.mass[-1] == pytest.approx(0.4)
    assert curve.n_events == 6
    assert curve.show_counts_not_curve
    assert interval_quantile(curve, 0.7).day is None


@quick
@given(rows_of)
def test_classes_are_linearly_independent_so_masses_are_unique(rows):
    intervals, _ = unique_intervals(rows)
    classes = equivalence_classes(intervals)
    assert np.linalg.matrix_rank(membership(intervals, classes).astype(float)) == len(classes)


@quick
@given(rows_of)
def test_masses_add_up_and_the_gap_is_small(rows):
    curve = interval_curve(rows, 1e-10)
    assert math.fsum(curve.mass) == pytest.approx(1.0, abs=1e-12)
    assert 0.0 <= curve.gap <= 1e-10 * curve.n
    assert all(a < b for a, b in zip(curve.after, curve.by, strict=True))


@quick
@given(rows_of)
def test_doubling_every_count_changes_no_mass(rows):
    once = interval_curve(rows, 1e-11)
    twice = interval_curve([Between(row.after, row.by, 2 * row.n) for row in rows], 1e-11)
    assert twice.log_likelihood == pytest.approx(2 * once.log_likelihood, abs=1e-6)
    assert twice.mass == pytest.approx(once.mass, abs=1e-3)


@quick
@given(rows_of, st.floats(0.0, 30.0), st.floats(0.0, 10.0))
def test_bounds_never_rise_with_days(rows, day, more):
    curve = interval_curve(rows)
    low, high = curve.bounds_at(day)
    later_low, later_high = curve.bounds_at(day + more)
    assert low <= high + 1e-12
    assert later_low <= low + 1e-12
    assert later_high <= high + 1e-12


@quick
@given(rows_of, st.floats(0.05, 0.95))
def test_quantile_lies_in_its_interval(rows, share):
    found = interval_quantile(interval_curve(rows), share)
    assert found.after <= found.day <= found.by


@pytest.mark.parametrize(
    "rows", [[], [Between(0, 3, 0)], [Between(4, 3)], [Between(0, 3, -1)], [Between(math.inf, math.inf)]]
)
def test_impossible_intervals_are_refused(rows):
    with pytest.raises(ValueError, match="interval"):
        interval_curve(rows)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_quantile_of_none_or_all_is_refused(share):
    with pytest.raises(ValueError, match="share"):
        interval_quantile(interval_curve([Between(0, 3)]), share)


def test_bootstrap_is_the_same_for_the_same_chance():
    rows = [Between(0, 7, 4), Between(7, 14, 9), Between(14, math.inf, 3)]
    first = bootstrap_survival(rows, 7.0, np.random.default_rng(5), n_draws=60)
    again = bootstrap_survival(rows, 7.0, np.random.default_rng(5), n_draws=60)
    assert first == again
    assert first.value == pytest.approx(0.75)
    assert first.interval.low < 0.75 < first.interval.high


def test_bootstrap_of_shared_inspections_is_about_the_binomial_range():
    """With shared inspections the share alive is a binomial share: sd sqrt(.25 .75 / 400) = 0.02165."""
    rows = [Between(0, 7, 100), Between(7, math.inf, 300)]
    result = bootstrap_survival(rows, 7.0, np.random.default_rng(1), n_draws=400)
    width = result.interval.high - result.interval.low
    assert width == pytest.approx(2 * 1.96 * 0.02165, rel=0.2)


def test_median_that_few_draws_reach_has_an_infinite_end():
    rows = [Between(0, 7, 5), Between(7, math.inf, 5)]
    result = bootstrap_interval_quantile(rows, 0.5, np.random.default_rng(2), n_draws=80)
    assert result.interval.high == math.inf
    assert result.interval.low < 7.0
    lives = [Life(4.0, True, 6), Life(9.0, False, 6)]
    assert bootstrap_quantile(lives, 0.5, np.random.default_rng(2), n_draws=80).interval.high == math.inf


def test_percentiles_are_values_that_were_drawn():
    interval = percentile_interval([float(i) for i in range(1, 101)], 0.9)
    assert (interval.low, interval.high) == (5.0, 95.0)


@pytest.mark.parametrize(("values", "level"), [([1.0], 0.9), ([1.0, math.nan], 0.9), ([1.0, 2.0], 1.0)])
def test_percentiles_of_nothing_are_refused(values, level):
    with pytest.raises(ValueError, match="bootstrap interval"):
        percentile_interval(values, level)
