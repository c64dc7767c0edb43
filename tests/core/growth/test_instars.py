"""Dyar's rule, cuts, mixtures, and when sizes cannot tell instars apart."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.growth import (
    CannotTell,
    Group,
    InstarRule,
    InstarSplit,
    MixtureRule,
    best_mixture,
    cut_between,
    dyar_fit,
    fit_mixture,
    instar_probability,
    instars_of,
)

quick = settings(deadline=None, max_examples=60)
few = settings(deadline=None, max_examples=15)


def bodies(seed, *groups):
    rng = np.random.default_rng(seed)
    parts = [typical * np.exp(spread * rng.normal(size=n)) for typical, spread, n in groups]
    return np.concatenate(parts).tolist()


@quick
@given(st.floats(0.5, 5.0), st.floats(1.05, 1.9), st.integers(3, 7), st.integers(1, 3))
def test_sizes_that_follow_the_rule_fit_it_exactly(first, ratio, n, number):
    fit = dyar_fit([first * ratio**i for i in range(n)], first_instar=number)
    assert fit.ratio == pytest.approx(ratio)
    assert fit.geometric_ratio == pytest.approx(ratio)
    assert fit.r2 == pytest.approx(1.0)
    assert fit.crosby_pct == pytest.approx((0.0,) * (n - 2), abs=1e-8)
    assert fit.suspect_steps == ()


def test_a_missed_instar_makes_two_steps_suspect():
    sizes = [1.3**i for i in range(6)]
    del sizes[3]
    assert dyar_fit(sizes).suspect_steps == ((3, 4), (4, 5))


def test_one_size_is_no_line():
    with pytest.raises(ValueError, match="at least 2"):
        dyar_fit([3.0])


@quick
@given(st.floats(1.0, 9.0), st.floats(0.5, 5.0), st.floats(0.05, 1.0))
def test_equal_groups_are_cut_half_way(mean, gap, sd):
    cut = cut_between(Group(mean, sd), Group(mean + gap, sd))
    assert cut.at == pytest.approx(mean + gap / 2)
    assert cut.smaller_taken_for_larger == pytest.approx(cut.larger_taken_for_smaller)


def test_the_rarer_group_loses_ground():
    even = cut_between(Group(5.0, 0.5), Group(7.0, 0.5))
    rare = cut_between(Group(5.0, 0.5, 0.9), Group(7.0, 0.5, 0.1))
    assert rare.at > even.at


def test_a_group_within_another_has_no_cut():
    assert cut_between(Group(5.0, 3.0, 0.99), Group(5.5, 2.9, 0.01)) is None


@pytest.mark.parametrize(
    ("a", "b"), [(Group(5, 0), Group(6, 1)), (Group(6, 1), Group(5, 1)), (Group(5, 1, 0.0), Group(6, 1))]
)
def test_impossible_groups_are_refused(a, b):
    with pytest.raises(ValueError, match="groups need"):
        cut_between(a, b)


@few
@given(st.integers(0, 1000), st.booleans(), st.booleans())
def test_further_steps_never_lower_the_likelihood(seed, even, shared):
    logs = np.log(bodies(seed, (3.0, 0.06, 40), (4.1, 0.06, 30), (5.5, 0.06, 20)))
    start = np.log([3.3, 4.0, 5.0]).tolist()
    likelihoods = [
        fit_mixture(logs, start, MixtureRule(even, shared, 0.01, tolerance)).log_likelihood
        for tolerance in (1e-1, 1e-2, 1e-4, 1e-6, 1e-8)
    ]
    assert likelihoods == sorted(likelihoods)
    tight = best_mixture(logs, 3, MixtureRule(even, shared, 0.01))
    assert sum(tight.weights) == pytest.approx(1.0)
    assert min(tight.sds) >= 0.01
    assert (len(set(tight.sds)) == 1) == shared == tight.shared_sd
    steps = np.diff(tight.means)
    assert (steps > 0).all()
    if even:
        assert steps == pytest.approx(np.full(2, steps.mean()))


def test_parameters_are_counted_for_each_rule():
    logs = np.log(bodies(1, (3.0, 0.06, 40), (4.1, 0.06, 30), (5.5, 0.06, 20)))
    count = {
        (even, shared): best_mixture(logs, 3, MixtureRule(even, shared, 0.01)).n_parameters
        for even in (False, True)
        for shared in (False, True)
    }
    assert count == {(False, False): 8, (False, True): 6, (True, False): 7, (True, True): 5}


def test_even_means_cost_likelihood_and_free_ones_do_not():
    logs = np.log(bodies(2, (3.0, 0.04, 40), (4.4, 0.04, 40), (5.4, 0.04, 40)))
    even = best_mixture(logs, 3, MixtureRule(evenly_spaced=True, least_sd=0.01))
    free = best_mixture(logs, 3, MixtureRule(least_sd=0.01))
    assert even.log_likelihood < free.log_likelihood


@pytest.mark.parametrize("k", [0, 4])
def test_impossible_numbers_of_groups_are_refused(k):
    for fit in (
        lambda: best_mixture(np.array([1.0, 2.0, 3.0]), k, MixtureRule()),
        lambda: fit_mixture(np.array([1.0, 2.0, 3.0]), [1.0] * k, MixtureRule()),
    ):
        with pytest.raises(ValueError, match="parted into"):
            fit()


@few
@given(st.integers(0, 200))
def test_well_parted_instars_are_found_whatever_the_sample(seed):
    sizes = bodies(seed, (3.0, 0.045, 50), (4.2, 0.045, 40), (5.88, 0.045, 30))
    found = instars_of(sizes, first_instar=3)
    assert isinstance(found, InstarSplit)
    assert found.typical_mm == pytest.approx((3.0, 4.2, 5.88), rel=0.03)
    assert found.ratio == pytest.approx(1.4, rel=0.02)
    assert found.first_instar == 3
    assert [sum(row) for row in found.probability] == pytest.approx([1.0] * 120)
    placed = np.array(found.probability).argmax(axis=1)
    assert (placed == np.repeat([0, 1, 2], [50, 40, 30])).mean() > 0.97


def test_a_single_instar_is_one_group_without_ratio():
    found = instars_of(bodies(4, (3.0, 0.05, 60)))
    assert isinstance(found, InstarSplit)
    assert len(found.typical_mm) == 1
    assert found.ratio is None
    assert found.cuts == ()


def test_further_bodies_are_placed_with_probabilities():
    found = instars_of(bodies(5, (3.0, 0.05, 60), (4.2, 0.05, 60)))
    small, between, large = instar_probability(found, [2.9, found.cuts[0].at, 4.3])
    assert small[0] > 0.999
    assert large[1] > 0.999
    assert between[0] == pytest.approx(0.5, abs=1e-6)


def test_too_few_bodies_cannot_tell():
    found = instars_of([3.0, 4.2] * 7)
    assert isinstance(found, CannotTell)
    assert "too few" in found.reasons[0]


def test_a_missing_instar_cannot_be_told():
    """Instars I, III and IV: the steps are not even."""
    found = instars_of(bodies(6, (3.0, 0.03, 60), (5.88, 0.03, 60), (8.23, 0.03, 60)))
    assert isinstance(found, CannotTell)
    assert any("even" in reason for reason in found.reasons)


def test_one_wide_group_may_hold_several_instars():
    found = instars_of(bodies(11, (3.0, 0.16, 80)))
    assert isinstance(found, CannotTell)
    assert any("may hold several" in reason for reason in found.reasons)


def test_groups_too_far_apart_for_a_moult_cannot_be_told():
    found = instars_of(bodies(7, (3.0, 0.04, 60), (9.0, 0.04, 60)))
    assert isinstance(found, CannotTell)
    assert any("growth of one moult" in reason for reason in found.reasons)


def test_neighbours_that_overlap_cannot_be_told():
    strict = InstarRule(most=3, most_misclassified=0.001)
    sizes = bodies(8, (3.0, 0.06, 100), (4.0, 0.06, 100))
    assert isinstance(instars_of(sizes), InstarSplit)
    found = instars_of(sizes, strict)
    assert isinstance(found, CannotTell)
    assert any("overlap" in reason for reason in found.reasons)


def test_a_best_number_at_the_edge_of_what_was_tried_cannot_be_told():
    sizes = bodies(9, (3.0, 0.04, 50), (4.2, 0.04, 50), (5.88, 0.04, 50))
    found = instars_of(sizes, InstarRule(most=3))
    assert isinstance(found, CannotTell)
    assert any("no more could be tried" in reason for reason in found.reasons)


def test_sizes_of_any_unit_give_the_same_groups():
    sizes = bodies(10, (3.0, 0.05, 50), (4.2, 0.05, 50))
    mm, cm = instars_of(sizes), instars_of([size / 10 for size in sizes])
    assert cm.typical_mm == pytest.approx([size / 10 for size in mm.typical_mm])
    assert cm.ratio == pytest.approx(mm.ratio)
    assert math.isclose(cm.mixture.bic, mm.mixture.bic, abs_tol=1e-3)
