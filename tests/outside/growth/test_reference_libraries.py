"""Agreement with scipy and scikit-learn where the definitions are the same."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import optimize, stats
from sklearn.mixture import GaussianMixture

from boxside.core.growth import (
    Body,
    Group,
    InstarSplit,
    MixtureRule,
    best_mixture,
    cut_between,
    dyar_fit,
    fit_mixture,
    growth_line,
    growth_of_pairs,
    growth_per_day,
    growth_per_moult,
    instars_of,
    sizes_by_day,
)
from boxside.core.growth.student import t_within, two_sided_t

few = settings(deadline=None, max_examples=30)
sizes = st.floats(1.0, 30.0)
spreads = st.floats(0.1, 2.0)


@few
@given(st.integers(1, 400), st.floats(0.0, 40.0), st.floats(0.01, 0.999))
def test_student_t_matches_scipy(df, t, level):
    assert t_within(t, df) == pytest.approx(1 - 2 * stats.t.sf(t, df), abs=1e-11)
    assert two_sided_t(level, df) == pytest.approx(stats.t.ppf(0.5 + level / 2, df), rel=1e-9)


@few
@given(st.lists(sizes, min_size=2, max_size=12), st.lists(sizes, min_size=2, max_size=12))
def test_growth_interval_matches_scipy_welch(before, after):
    """Same difference and error; ours rounds the degrees of freedom down."""
    assume(np.std(before) > 1e-3 and np.std(after) > 1e-3)
    reference = stats.ttest_ind(after, before, equal_var=False)
    found = growth_per_day(before, after, 4.0).mm
    error = (np.mean(after) - np.mean(before)) / reference.statistic if reference.statistic else 0.0
    assume(error > 0)
    reach = stats.t.ppf(0.975, max(1, math.floor(reference.df + 1e-9))) * error
    assert found.value == pytest.approx((np.mean(after) - np.mean(before)) / 4)
    assert found.interval.high - found.value == pytest.approx(reach / 4, rel=1e-6)
    exact = reference.confidence_interval(0.95)
    assert found.interval.low * 4 <= exact.low + 1e-9
    assert found.interval.high * 4 >= exact.high - 1e-9


@few
@given(st.lists(st.tuples(sizes, sizes), min_size=2, max_size=15))
def test_growth_of_pairs_matches_scipy(pairs):
    gains = np.log([after / before for before, after in pairs]) / 7.0
    assume(gains.std() > 1e-6)
    found = growth_of_pairs(pairs, 7.0).relative
    low, high = stats.t.interval(0.95, len(pairs) - 1, gains.mean(), stats.sem(gains))
    assert (found.interval.low, found.interval.high) == pytest.approx((low, high), abs=1e-9)


@few
@given(st.lists(st.tuples(st.integers(0, 60), sizes), min_size=3, max_size=25))
def test_growth_line_matches_scipy_regression(points):
    days, lengths = zip(*points, strict=True)
    assume(len(set(days)) > 1 and len(set(lengths)) > 1)
    found = growth_line([Body(float(day), length) for day, length in points])
    line = stats.linregress(days, np.log(lengths))
    # Where the points lie on the line exactly, the reference's error is its own rounding.
    assume(line.stderr > 1e-6)
    reach = stats.t.ppf(0.975, len(points) - 2) * line.stderr
    assert found.value == pytest.approx(line.slope, abs=1e-10)
    assert found.interval.high - found.value == pytest.approx(reach, rel=1e-6, abs=1e-9)


@few
@given(st.lists(sizes, min_size=3, max_size=7))
def test_dyar_line_matches_scipy_regression(widths):
    assume(np.std(widths) > 1e-3)
    fit = dyar_fit(widths)
    line = stats.linregress(np.arange(1, len(widths) + 1), np.log(widths))
    assert (fit.slope, fit.intercept) == pytest.approx((line.slope, line.intercept), abs=1e-10)
    assert fit.r2 == pytest.approx(line.rvalue**2, abs=1e-10)


@few
@given(st.floats(1.0, 10.0), st.floats(0.1, 6.0), st.floats(0.1, 2.0), st.floats(0.1, 2.0), st.floats(0.1, 0.9))
def test_cut_matches_scipy_root(mean, gap, sd_a, sd_b, share):
    def difference(x):
        return share * stats.norm.pdf(x, mean, sd_a) - (1 - share) * stats.norm.pdf(x, mean + gap, sd_b)

    cut = cut_between(Group(mean, sd_a, share), Group(mean + gap, sd_b, 1 - share))
    assume(difference(mean) > 1e-9 and difference(mean + gap) < -1e-9)
    root = optimize.brentq(difference, mean, mean + gap, xtol=1e-13)
    assert cut.at == pytest.approx(root, abs=1e-7)
    assert cut.smaller_taken_for_larger == pytest.approx(stats.norm.sf(cut.at, mean, sd_a), abs=1e-12)
    assert cut.larger_taken_for_smaller == pytest.approx(stats.norm.cdf(cut.at, mean + gap, sd_b), abs=1e-12)


@few
@given(st.lists(sizes, min_size=1, max_size=30))
def test_quartiles_match_numpy_definition_seven(lengths):
    (day,) = sizes_by_day([Body(3.0, length) for length in lengths])
    expected = stats.mstats.mquantiles(lengths, [0.25, 0.5, 0.75], alphap=1, betap=1)
    assert (day.lower_mm, day.median_mm, day.upper_mm) == pytest.approx(tuple(expected), abs=1e-9)
    assert day.geometric_mean_mm == pytest.approx(stats.gmean(lengths))


@pytest.fixture
def sample(checks):
    given_sizes = checks["lamprigera"]["inputs"]
    shares = (np.arange(1, 101) - 0.5) / 100
    pairs = zip(given_sizes["mean_mm"][:3], given_sizes["sd_mm"][:3], strict=True)
    return np.concatenate([stats.norm.ppf(shares, mean, sd) for mean, sd in pairs])


def test_mixture_matches_scikit_learn_figures(checks, sample):
    expected = checks["mixture"]["expected"]
    fit = fit_mixture(sample, checks["lamprigera"]["inputs"]["mean_mm"][:3], MixtureRule(tolerance=1e-14))
    within = checks["mixture"]["tolerance"]
    assert list(fit.means) == pytest.approx(expected["means"], abs=within)
    assert list(fit.sds) == pytest.approx(expected["sds"], abs=within)
    assert list(fit.weights) == pytest.approx(expected["weights"], abs=within)
    assert fit.log_likelihood == pytest.approx(
        expected["log_likelihood"], abs=checks["mixture"]["log_likelihood_tolerance"]
    )
    bic = [best_mixture(sample, k, MixtureRule(tolerance=1e-11)).bic for k in (1, 2, 3)]
    assert bic == pytest.approx(expected["bic"], abs=checks["mixture"]["bic_tolerance"])


@pytest.mark.parametrize("k", [1, 2, 3])
def test_mixture_matches_scikit_learn(sample, k):
    ours = best_mixture(sample, k, MixtureRule())
    reference = GaussianMixture(
        k,
        means_init=np.array(ours.means)[:, None],
        tol=1e-10,
        max_iter=20_000,
        reg_covar=1e-12,
        random_state=0,
    ).fit(sample[:, None])
    order = np.argsort(reference.means_[:, 0])
    assert list(ours.means) == pytest.approx(reference.means_[order, 0], abs=1e-3)
    assert list(ours.weights) == pytest.approx(reference.weights_[order], abs=1e-3)
    assert ours.log_likelihood == pytest.approx(reference.score(sample[:, None]) * sample.size, abs=1e-4)
    assert ours.bic == pytest.approx(reference.bic(sample[:, None]), abs=1e-3)


def test_spread_shared_by_all_groups_matches_scikit_learn(sample):
    ours = best_mixture(sample, 3, MixtureRule(shared_sd=True))
    reference = GaussianMixture(
        3, covariance_type="tied", means_init=np.array(ours.means)[:, None], tol=1e-10, max_iter=20_000,
        reg_covar=1e-12, random_state=0,
    ).fit(sample[:, None])  # fmt: skip
    assert ours.log_likelihood == pytest.approx(reference.score(sample[:, None]) * sample.size, abs=1e-4)
    assert ours.bic == pytest.approx(reference.bic(sample[:, None]), abs=1e-3)


def test_three_lamprigera_instars_are_found_and_placed(checks, sample):
    found = instars_of(sample.tolist(), first_instar=1)
    assert isinstance(found, InstarSplit)
    assert list(found.typical_mm) == pytest.approx(checks["lamprigera"]["inputs"]["mean_mm"][:3], rel=0.02)
    cuts = [cut.at for cut in found.cuts]
    assert cuts == pytest.approx(checks["lamprigera"]["expected"]["cuts_mm"][:2], rel=0.02)
    placed = np.array(found.probability).argmax(axis=1)
    assert (placed == np.repeat([0, 1, 2], 100)).mean() > 0.9


def test_growth_per_moult_is_the_ratio_of_geometric_means():
    found = growth_per_moult([5.0, 5.5, 5.2], [6.6, 6.9, 6.4, 7.0])
    assert found.value == pytest.approx(stats.gmean([6.6, 6.9, 6.4, 7.0]) / stats.gmean([5.0, 5.5, 5.2]))
    assert found.interval.low < found.value < found.interval.high
