"""Agreement with scipy, lifelines and statsmodels on random data, where the definitions are the same."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test
from lifelines.utils import qth_survival_times
from scipy import optimize, special, stats
from scipy.integrate import quad
from statsmodels.duration.survfunc import SurvfuncRight
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from boxside.core.survival import (
    Band,
    Between,
    Life,
    Weighting,
    binomial_test,
    clopper_pearson,
    group_test,
    interval_curve,
    judge_loss,
    life_table,
    quantile_day,
    quantile_interval,
    share_difference,
    survival_curve,
    wilson,
)
from boxside.core.survival.inspections import equivalence_classes, membership, unique_intervals
from boxside.core.survival.least_squares import nonnegative_solution
from boxside.core.survival.tails import (
    beta_binomial_pmf,
    beta_cdf,
    beta_quantile,
    beta_sf,
    binomial_pmf,
    chi2_sf,
    gamma_q,
    normal_quantile,
    normal_sf,
)
from boxside.core.values.estimates import BetaBelief

few = settings(deadline=None, max_examples=25)
many = settings(deadline=None, max_examples=100)

lives_of = st.lists(
    st.builds(Life, left=st.integers(1, 25).map(float), died=st.booleans(), n=st.integers(1, 3)),
    min_size=2,
    max_size=25,
)
late_lives = st.lists(
    st.builds(
        lambda entered, stay, died: Life(float(entered + stay), died, 1, float(entered)),
        st.integers(0, 6),
        st.integers(1, 20),
        st.booleans(),
    ),
    min_size=3,
    max_size=30,
)


def columns(lives):
    return (
        np.array([life.left for life in lives]),
        np.array([life.died for life in lives]),
        np.array([life.n for life in lives]),
        np.array([life.entered for life in lives]),
    )


@many
@given(st.integers(1, 80), st.floats(0.0, 200.0))
def test_chi_square_tail_matches_scipy(df, x):
    assert chi2_sf(x, df) == pytest.approx(stats.chi2.sf(x, df), rel=1e-10, abs=1e-300)


@many
@given(st.floats(0.05, 300.0), st.floats(0.0, 400.0))
def test_upper_gamma_matches_scipy(a, x):
    assert gamma_q(a, x) == pytest.approx(special.gammaincc(a, x), rel=1e-9, abs=1e-14)


@many
@given(st.floats(0.1, 500.0), st.floats(0.1, 500.0), st.floats(0.001, 0.999))
def test_beta_law_matches_scipy(a, b, p):
    x = stats.beta.ppf(p, a, b)
    assert beta_quantile(p, a, b) == pytest.approx(x, rel=1e-10, abs=1e-15)
    assert beta_cdf(p, a, b) == pytest.approx(stats.beta.cdf(p, a, b), rel=1e-10, abs=1e-250)
    assert beta_sf(p, a, b) == pytest.approx(stats.beta.sf(p, a, b), rel=1e-10, abs=1e-250)


@many
@given(st.integers(0, 150), st.floats(1e-9, 1.0), st.floats(0.2, 50.0), st.floats(0.2, 50.0))
def test_count_laws_match_scipy(n, p, a, b):
    k = np.arange(n + 1)
    assert binomial_pmf(n, p) == pytest.approx(stats.binom.pmf(k, n, p), rel=1e-9, abs=1e-12)
    assert beta_binomial_pmf(n, a, b) == pytest.approx(stats.betabinom.pmf(k, n, a, b), rel=1e-9, abs=1e-12)


@many
@given(st.floats(-8.0, 8.0), st.floats(1e-9, 1 - 1e-9))
def test_normal_law_matches_scipy(z, p):
    assert normal_sf(z) == pytest.approx(stats.norm.sf(z), rel=1e-12)
    assert normal_quantile(p) == pytest.approx(stats.norm.ppf(p), rel=1e-10, abs=1e-12)


@few
@given(lives_of, st.sampled_from([0.8, 0.95]))
def test_curve_with_counts_matches_lifelines(lives, level):
    left, died, n, _ = columns(lives)
    curve = survival_curve(lives, level)
    fitter = KaplanMeierFitter(alpha=1 - level).fit(left, died, weights=n)
    assert [curve.at(day) for day in range(27)] == pytest.approx(
        fitter.survival_function_at_times(range(27)).to_numpy(), abs=1e-10
    )
    bounds = fitter.confidence_interval_.loc[list(curve.days)].to_numpy()
    inner = np.array(curve.survival) > 0
    assert np.array(curve.low)[inner] == pytest.approx(bounds[inner, 0], abs=1e-9)
    assert np.array(curve.high)[inner] == pytest.approx(bounds[inner, 1], abs=1e-9)


@few
@given(lives_of)
def test_standard_error_and_plain_band_match_statsmodels(lives):
    left, died, n, _ = columns(lives)
    assume(died.any())
    curve = survival_curve(lives, band=Band.PLAIN)
    reference = SurvfuncRight(np.repeat(left, n), np.repeat(died, n).astype(int))
    inner = np.array(curve.survival) > 0
    assert list(curve.days) == list(reference.surv_times)
    assert np.array(curve.std_error)[inner] == pytest.approx(reference.surv_prob_se[inner], abs=1e-10)
    z = stats.norm.ppf(0.975)
    plain = np.clip(reference.surv_prob - z * reference.surv_prob_se, 0, 1)
    assert np.array(curve.low)[inner] == pytest.approx(plain[inner], abs=1e-10)


@few
@given(late_lives)
def test_late_entries_match_statsmodels(lives):
    left, died, _, entered = columns(lives)
    assume(died.any())
    curve = survival_curve(lives)
    reference = SurvfuncRight(left, died.astype(int), entry=entered)
    assert list(curve.days) == list(reference.surv_times)
    assert list(curve.n_at_risk) == list(reference.n_risk)
    assert list(curve.survival) == pytest.approx(reference.surv_prob, abs=1e-10)


@few
@given(lives_of)
def test_median_and_its_interval_match_lifelines(lives):
    left, died, n, _ = columns(lives)
    curve = survival_curve(lives)
    # A share of exactly one half is at most one half; the reference rounds it up and misses it.
    assume(all(abs(share - 0.5) > 1e-9 for share in curve.survival))
    fitter = KaplanMeierFitter().fit(left, died, weights=n)
    median = quantile_day(curve)
    assert (math.inf if median is None else median) == fitter.median_survival_time_
    if (np.array(curve.survival) > 0).all():
        interval = quantile_interval(curve)
        low, high = (
            float(qth_survival_times(0.5, fitter.confidence_interval_[name]))
            for name in fitter.confidence_interval_.columns
        )
        assert (interval.low, interval.high) == (low, high)


@few
@given(st.lists(lives_of, min_size=2, max_size=4), st.sampled_from(list(Weighting)))
def test_group_test_matches_lifelines(groups, weighting):
    parts = [columns(group) for group in groups]
    assume(any(died.any() for _, died, _, _ in parts))
    result = group_test(groups, weighting)
    assume(result.df == len(groups) - 1)
    left, died, n = (np.concatenate([part[i] for part in parts]) for i in range(3))
    names = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
    scheme = "wilcoxon" if weighting is Weighting.GEHAN else None
    reference = multivariate_logrank_test(left, names, died, weights=n, weightings=scheme)
    assert result.chi2 == pytest.approx(reference.test_statistic, rel=1e-7, abs=1e-9)
    assert result.p_value == pytest.approx(reference.p_value, rel=1e-6)


@few
@given(st.integers(0, 10**6))
def test_nonnegative_least_squares_matches_scipy(seed):
    rng = np.random.default_rng(seed)
    a = rng.normal(size=(12, 6))
    b = rng.normal(size=12)
    assert nonnegative_solution(a.T @ a, a.T @ b) == pytest.approx(optimize.nnls(a, b)[0], abs=1e-8)


inspected = st.lists(
    st.builds(
        lambda after, width, open_end, n: Between(float(after), math.inf if open_end else float(after + width), n),
        st.integers(0, 12),
        st.integers(1, 6),
        st.booleans(),
        st.integers(1, 4),
    ),
    min_size=2,
    max_size=10,
)


def brute_force_log_likelihood(rows):
    """Maximise over masses on every gap between two ends, not only the innermost ones."""
    ends = [*sorted({row.after for row in rows} | {row.by for row in rows} - {math.inf}), math.inf]
    gaps = list(pairwise(ends))
    fits = np.array([[row.after <= a and b <= row.by for a, b in gaps] for row in rows])
    weights = np.array([row.n for row in rows], dtype=float)

    def loss(z):
        mass = np.exp(z - z.max())
        inside = fits @ (mass / mass.sum())
        slope = (fits.T @ (weights / inside)) - weights.sum()
        return -weights @ np.log(inside), -slope * mass / mass.sum()

    starts = [np.zeros(fits.shape[1]), np.linspace(-1, 1, fits.shape[1])]
    options = {"maxiter": 5000, "ftol": 1e-15, "gtol": 1e-10, "maxfun": 50_000}
    return max(-optimize.minimize(loss, z, jac=True, method="L-BFGS-B", options=options).fun for z in starts)


@few
@given(inspected)
def test_inspected_survival_matches_brute_force_optimum(rows):
    curve = interval_curve(rows, 1e-10)
    best = brute_force_log_likelihood(rows)
    assert curve.log_likelihood == pytest.approx(best, abs=2e-5)
    assert curve.log_likelihood >= best - curve.gap - 1e-9


@few
@given(inspected)
def test_inspected_survival_meets_karush_kuhn_tucker(rows):
    curve = interval_curve(rows, 1e-10)
    intervals, weights = unique_intervals(rows)
    fits = membership(intervals, equivalence_classes(intervals)).astype(float)
    mass = np.array(curve.mass)
    slope = fits.T @ (weights / (fits @ mass)) / weights.sum()
    assert slope.max() <= 1 + 2e-10
    assert (mass * np.abs(slope - 1) <= 1e-6).all()
    assert mass.sum() == pytest.approx(1.0, abs=1e-12)
    assert mass.min() >= 0.0


@few
@given(lives_of)
def test_exact_times_give_the_product_limit_curve(lives):
    """Deaths at exact times and censoring: both estimators are the same maximum likelihood."""
    rows = [Between(life.left, life.left if life.died else math.inf, life.n) for life in lives]
    inspected_curve, curve = interval_curve(rows, 1e-12), survival_curve(lives)
    days = [day for day in curve.days if day < max(life.left for life in lives)]
    for day in days:
        low, high = inspected_curve.bounds_at(day)
        assert low == pytest.approx(curve.at(day), abs=1e-6)
        assert high == pytest.approx(curve.at(day), abs=1e-6)


shares = st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@many
@given(shares, st.sampled_from([0.8, 0.95, 0.99]))
def test_share_intervals_match_statsmodels(share, level):
    for method, name in ((wilson, "wilson"), (clopper_pearson, "beta")):
        interval = method(*share, level).interval
        low, high = proportion_confint(*share, alpha=1 - level, method=name)
        assert interval.low == pytest.approx(np.nan_to_num(low, nan=0.0), abs=1e-10)
        assert interval.high == pytest.approx(np.nan_to_num(high, nan=1.0), abs=1e-10)


@many
@given(shares, shares)
def test_share_difference_matches_statsmodels(first, second):
    interval = share_difference(first, second).interval
    low, high = confint_proportions_2indep(*first, *second, method="newcomb", compare="diff")
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=1e-8)


@many
@given(shares, st.floats(0.01, 0.99))
def test_binomial_test_matches_scipy(share, chance):
    assert binomial_test(*share, chance) == pytest.approx(stats.binomtest(*share, chance).pvalue, rel=1e-8)


@many
@given(st.integers(1, 80), st.floats(0.3, 0.99), st.floats(0.05, 3.0), st.data())
def test_loss_tail_matches_scipy(n, survival, part, data):
    counted = data.draw(st.integers(0, n - 1))
    judged = judge_loss(n, counted, survival, part)
    assert judged.p_value == pytest.approx(stats.binom.cdf(counted, n, survival**part), rel=1e-8, abs=1e-14)


@few
@given(st.integers(1, 60), st.floats(0.6, 60.0), st.floats(0.6, 20.0), st.floats(0.1, 2.0), st.data())
def test_loss_tail_with_doubt_matches_numerical_integral(n, a, b, part, data):
    """Averaged over the belief by adaptive quadrature; at the whole stage it is the beta-binomial."""
    counted = data.draw(st.integers(0, n - 1))
    belief = BetaBelief(a, b)
    edges = stats.beta.ppf([1e-12, 0.01, 0.5, 0.99, 1 - 1e-12], a, b) ** part

    def tail_times_density(share):
        # In the share that is left, q**part, what is integrated is smooth: in q it is steep without end at 0.
        q = share ** (1 / part)
        return stats.binom.cdf(counted, n, share) * stats.beta.pdf(q, a, b) * q / (part * share)

    expected = sum(quad(tail_times_density, lo, hi, epsabs=1e-11, limit=200)[0] for lo, hi in pairwise(edges))
    assert judge_loss(n, counted, belief, part).p_value == pytest.approx(expected, abs=1e-9)
    whole = stats.betabinom.cdf(counted, n, a, b)
    assert judge_loss(n, counted, belief).p_value == pytest.approx(whole, rel=1e-8, abs=1e-13)


@many
@given(
    st.lists(st.floats(0.2, 1.0), min_size=2, max_size=8),
    st.lists(st.floats(0.0, 40.0), min_size=8, max_size=8),
)
def test_growth_rate_matches_scipy_root(shares_alive, births):
    ages = np.arange(1.0, len(shares_alive) + 1)
    alive = np.cumprod(shares_alive)
    net = alive / alive[0] * np.array(births[: alive.size])
    assume(net.sum() > 1e-3)
    rate = life_table(ages.tolist(), alive.tolist(), births[: alive.size]).rate
    root = optimize.brentq(lambda r: (net * np.exp(-r * ages)).sum() - 1, -60, 60, xtol=1e-13)
    assert rate == pytest.approx(root, abs=1e-9)
