"""Laws of the product-limit curve, and what it says of animals that enter late or leave."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.survival import (
    Band,
    Life,
    group_test,
    quantile_day,
    quantile_interval,
    survival_curve,
)

lives_of = st.lists(
    st.builds(Life, left=st.floats(0.5, 60.0), died=st.booleans(), n=st.integers(1, 4)),
    min_size=1,
    max_size=20,
)
quick = settings(deadline=None, max_examples=60)


@quick
@given(lives_of, st.sampled_from(list(Band)))
def test_survival_never_rises_and_stays_between_zero_and_one(lives, band):
    curve = survival_curve(lives, band=band)
    shares = (1.0, *curve.survival)
    assert all(0.0 <= later <= earlier <= 1.0 for earlier, later in zip(shares, curve.survival, strict=False))


@quick
@given(lives_of, st.sampled_from(list(Band)))
def test_band_holds_the_curve(lives, band):
    curve = survival_curve(lives, band=band)
    for low, share, high in zip(curve.low, curve.survival, curve.high, strict=True):
        if share > 0:
            assert 0.0 <= low <= share <= high <= 1.0
        else:
            assert math.isnan(low)
            assert math.isnan(high)


@quick
@given(lives_of)
def test_counts_are_the_same_as_rows_repeated(lives):
    one_by_one = [Life(life.left, life.died) for life in lives for _ in range(life.n)]
    whole, parts = survival_curve(lives), survival_curve(one_by_one)
    assert whole.days == parts.days
    assert whole.survival == pytest.approx(parts.survival)
    assert whole.n_at_risk == parts.n_at_risk


@quick
@given(st.lists(st.integers(1, 30), min_size=1, max_size=30))
def test_without_censoring_the_curve_is_the_share_alive(days):
    curve = survival_curve([Life(float(day), died=True) for day in days])
    for day in range(31):
        assert curve.at(day) == pytest.approx(sum(d > day for d in days) / len(days))


def test_one_that_leaves_on_the_day_of_a_death_is_at_risk_on_it():
    curve = survival_curve([Life(5.0, died=True), Life(5.0, died=False)])
    assert curve.n_at_risk == (2,)
    assert curve.survival == (0.5,)


def test_one_that_enters_later_is_not_at_risk_before():
    curve = survival_curve([Life(2.0, True), Life(9.0, True), Life(9.0, True, entered=3.0)])
    assert curve.n_at_risk == (2, 2)


def test_one_that_enters_on_the_day_of_a_death_is_not_at_risk_on_it():
    curve = survival_curve([Life(3.0, True), Life(8.0, False), Life(8.0, False, entered=3.0)])
    assert curve.n_at_risk == (2,)


def test_few_deaths_show_counts_and_say_so():
    curve = survival_curve([Life(5.0, True, 9), Life(9.0, False, 30)])
    assert curve.show_counts_not_curve
    assert any("Fewer than 10 deaths" in limit for limit in curve.limits)
    enough = survival_curve([Life(5.0, True, 10), Life(9.0, False, 30)])
    assert not enough.show_counts_not_curve
    assert not any("Fewer than 10 deaths" in limit for limit in enough.limits)


def test_nobody_dead_gives_an_empty_curve_at_one():
    curve = survival_curve([Life(7.0, died=False, n=4)])
    assert curve.days == ()
    assert curve.at(7.0) == 1.0
    assert quantile_day(curve) is None
    assert quantile_interval(curve).low == math.inf


@pytest.mark.parametrize(
    "lives",
    [
        [],
        [Life(3.0, True, 0)],
        [Life(3.0, True, -1), Life(4.0, True, 5)],
        [Life(3.0, True, entered=3.0)],
        [Life(math.inf, False)],
    ],
)
def test_impossible_histories_are_refused(lives):
    with pytest.raises(ValueError, match=r"animal|enter"):
        survival_curve(lives)


def test_level_outside_zero_to_one_is_refused():
    with pytest.raises(ValueError, match="confidence level"):
        survival_curve([Life(3.0, True)], level=1.0)


def test_groups_that_die_alike_do_not_differ():
    group = [Life(float(day), True) for day in range(1, 12)]
    result = group_test([group, group])
    assert result.chi2 == pytest.approx(0.0, abs=1e-20)
    assert result.p_value == 1.0


@quick
@given(lives_of, lives_of)
def test_observed_and_expected_deaths_have_one_sum(first, second):
    if not any(life.died for life in first + second):
        with pytest.raises(ValueError, match="no animal died"):
            group_test([first, second])
        return
    result = group_test([first, second])
    assert sum(result.observed) == pytest.approx(sum(result.expected))
    assert 0.0 <= result.p_value <= 1.0


def test_one_group_is_no_comparison():
    with pytest.raises(ValueError, match="two groups"):
        group_test([[Life(3.0, True)]])


def test_groups_that_never_live_at_once_cannot_be_compared():
    result = group_test([[Life(3.0, True)], [Life(9.0, True, entered=5.0)]])
    assert result.df == 0
    assert result.p_value == 1.0
