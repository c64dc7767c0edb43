"""Shares with their intervals, exact tests, and whether a loss is more than survival explains."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.survival import (
    LossVerdict,
    binomial_test,
    clopper_pearson,
    judge_loss,
    share_difference,
    wilson,
)
from boxside.core.survival.least_squares import nonnegative_solution
from boxside.core.survival.tails import beta_cdf, beta_quantile, chi2_sf, gamma_q, two_sided_z
from boxside.core.values.estimates import BetaBelief, Interval

quick = settings(deadline=None, max_examples=80)
shares = st.integers(1, 120).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@quick
@given(shares)
def test_intervals_hold_the_share_and_mirror_its_complement(share):
    count, total = share
    for method in (wilson, clopper_pearson):
        interval, mirror = method(count, total).interval, method(total - count, total).interval
        assert interval.holds(count / total)
        assert 0.0 <= interval.low <= interval.high <= 1.0
        assert interval.low == pytest.approx(1.0 - mirror.high, abs=1e-12)


@quick
@given(shares)
def test_exact_ends_are_where_the_tail_is_half_of_what_is_left(share):
    count, total = share
    interval = clopper_pearson(count, total, 0.9).interval
    if count > 0:
        assert 1 - beta_cdf(1 - interval.low, total - count + 1, count) == pytest.approx(0.05, abs=1e-9)
    if count < total:
        assert 1 - beta_cdf(interval.high, count + 1, total - count) == pytest.approx(0.05, abs=1e-9)


@quick
@given(shares)
def test_sex_ratio_test_does_not_mind_which_sex_is_named(share):
    count, total = share
    assert binomial_test(count, total) == pytest.approx(binomial_test(total - count, total))


@quick
@given(shares, shares)
def test_difference_changes_sign_with_the_order(first, second):
    one, other = share_difference(first, second), share_difference(second, first)
    assert one.value == pytest.approx(-other.value)
    assert one.interval.low == pytest.approx(-other.interval.high, abs=1e-12)


@pytest.mark.parametrize("share", [(-1, 5), (6, 5), (0, 0)])
def test_impossible_shares_are_refused(share):
    for method in (wilson, clopper_pearson, binomial_test):
        with pytest.raises(ValueError, match="no share"):
            method(*share)


def test_chances_outside_zero_to_one_are_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        binomial_test(1, 2, 1.5)
    with pytest.raises(ValueError, match="between 0 and 1"):
        beta_quantile(1.5, 1.0, 1.0)
    with pytest.raises(ValueError, match="degree of freedom"):
        chi2_sf(1.0, 0)
    with pytest.raises(ValueError, match="level"):
        two_sided_z(0.0)


def test_certain_chances_are_certain():
    assert binomial_test(5, 5, 1.0) == 1.0
    assert binomial_test(4, 5, 1.0) == 0.0
    assert gamma_q(2.0, 0.0) == 1.0
    assert (beta_cdf(0.0, 1, 1), beta_cdf(1.0, 1, 1)) == (0.0, 1.0)
    assert beta_quantile(0.0, 1, 1) == 0.0


def test_loss_by_hand():
    """Ten eggs, half survive, two left: P(at most 2 of 10) = (1 + 10 + 45) / 1024."""
    judged = judge_loss(10, 2, 0.5)
    assert judged.p_value == pytest.approx(56 / 1024)
    assert judged.n_expected_alive == pytest.approx(5.0)
    assert judged.verdict is LossVerdict.EXPLAINED


def test_half_of_a_stage_takes_the_root_of_its_survival():
    assert judge_loss(10, 2, 0.25, share_of_stage=0.5).p_value == pytest.approx(judge_loss(10, 2, 0.5).p_value)


def test_loss_far_beyond_survival_is_named():
    judged = judge_loss(40, 20, 0.95)
    assert judged.more_than_survival_explains
    assert judged.p_value < 1e-10
    assert judged.n_lost == 20
    assert judged.least > 30


def test_threshold_decides():
    assert judge_loss(10, 2, 0.5, threshold=0.06).more_than_survival_explains
    assert not judge_loss(10, 2, 0.5, threshold=0.05).more_than_survival_explains


def test_doubt_about_survival_makes_a_loss_less_surprising():
    known = judge_loss(20, 12, 0.9)
    doubtful = judge_loss(20, 12, BetaBelief(9.0, 1.0))
    assert doubtful.p_value > known.p_value
    assert doubtful.least < known.least


def test_more_animals_than_expected_is_a_surplus():
    judged = judge_loss(10, 12, 0.9)
    assert judged.verdict is LossVerdict.SURPLUS
    assert judged.n_lost == -2
    assert judged.p_value == 1.0


@quick
@given(st.integers(0, 60), st.floats(0.5, 30), st.floats(0.5, 30), st.floats(0.2, 2.0), st.floats(0.5, 0.99))
def test_expected_range_covers_what_it_says(n, a, b, part, level):
    judged = judge_loss(n, n, BetaBelief(a, b), part, level=level)
    assert 0 <= judged.least <= judged.most <= n
    if judged.least > 0:
        below = judge_loss(n, judged.least - 1, BetaBelief(a, b), part).p_value
        assert below <= (1 - level) / 2 + 1e-9


@quick
@given(st.integers(1, 60), st.floats(0.05, 0.95))
def test_each_further_loss_is_less_likely(n, survival):
    chances = [judge_loss(n, counted, survival).p_value for counted in range(n + 1)]
    assert all(a <= b + 1e-12 for a, b in pairwise(chances))
    assert chances[-1] == 1.0


@pytest.mark.parametrize(
    "bad",
    [
        {"n_expected": -1},
        {"n_counted": -1},
        {"survival": 1.1},
        {"survival": BetaBelief(0.01, 1.0)},
        {"share_of_stage": 0.0},
        {"threshold": 1.0},
        {"level": 0.0},
    ],
)
def test_impossible_judgements_are_refused(bad):
    with pytest.raises(ValueError, match=r"negative|share|belief|between 0 and 1"):
        judge_loss(**{"n_expected": 10, "n_counted": 5, "survival": 0.9, **bad})


def test_belief_of_a_count_starts_from_jeffreys():
    belief = BetaBelief.of_count(9, 10)
    assert (belief.a, belief.b) == (9.5, 1.5)
    assert belief.mean == pytest.approx(9.5 / 11)
    for bad in ((3, 2), (-1, 2)):
        with pytest.raises(ValueError, match="no share"):
            BetaBelief.of_count(*bad)
    with pytest.raises(ValueError, match="above zero"):
        BetaBelief(0.0, 1.0)


def test_interval_holds_its_ends():
    interval = Interval(1.0, 2.0, 0.95, "by hand")
    assert interval.holds(1.0)
    assert interval.holds(2.0)
    assert not interval.holds(2.1)


def test_least_squares_stays_at_zero_where_it_would_turn_negative():
    a = np.array([[1.0, 0.0], [0.0, 1.0]])
    assert nonnegative_solution(a.T @ a, a.T @ np.array([2.0, -3.0])).tolist() == [2.0, 0.0]
