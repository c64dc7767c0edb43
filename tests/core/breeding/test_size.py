"""Laws of effective size; printed values are in tests/outside/breeding."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.breeding import (
    differentiation,
    diversity_after,
    effective_number,
    family_variance,
    inbreeding_after,
    size_from_families,
    size_from_inbreeding,
    size_from_sexes,
    size_needed,
    size_over_generations,
)
from boxside.core.values.errors import EntryError

counts = st.integers(1, 10_000)


@settings(deadline=None, max_examples=50)
@given(counts, counts)
def test_size_is_at_most_the_breeding_animals_and_four_times_the_rarer_sex(males, females):
    size = size_from_sexes(males, females)
    assert size <= males + females + 1e-9
    assert size < 4 * min(males, females)
    assert size == size_from_sexes(females, males)


def test_nobody_breeding_is_size_0():
    assert size_from_sexes(0, 0) == 0.0
    assert size_from_sexes(0, 5) == 0.0


def test_families_by_chance_leave_the_size_as_it_is():
    """Poisson families, variance equal to the mean: scaled to two offspring, a variance of 2."""
    sizes = np.random.default_rng(4).poisson(30.0, 20_000)
    assert family_variance(sizes.tolist()) == pytest.approx(2.0, abs=0.05)


def test_equal_families_have_less_variance_than_chance():
    assert family_variance([30, 30, 30, 30]) == pytest.approx(2 - 30 * (2 / 30) ** 2)
    assert family_variance([2, 2, 2]) == 0.0


def test_one_family_that_has_it_all():
    """Of ten mothers one had all 100: mean 10, variance 1000, scaled 2 + 990 / 25."""
    assert family_variance([100] + [0] * 9) == pytest.approx(2 + 990 * 0.04)
    assert size_from_families(10, family_variance([100] + [0] * 9)) < 1


def test_effective_number_of_equal_shares_is_their_number():
    assert effective_number([3, 3, 3, 3]) == pytest.approx(4)
    assert effective_number([1, 0, 0]) == pytest.approx(1)
    assert effective_number([0.5, 0.3, 0.2]) == pytest.approx(1 / 0.38)


@settings(deadline=None, max_examples=50)
@given(st.lists(st.floats(1, 1000), min_size=1, max_size=8))
def test_harmonic_size_lies_between_least_and_mean(sizes):
    got = size_over_generations(sizes)
    assert min(sizes) - 1e-9 <= got <= sum(sizes) / len(sizes) + 1e-9


@settings(deadline=None, max_examples=50)
@given(st.floats(1, 1000), st.integers(1, 20))
def test_size_comes_back_from_the_inbreeding_it_causes(size, t):
    inbreeding = inbreeding_after(size, t)
    if inbreeding < 1 - 1e-6:
        assert size_from_inbreeding(0.0, inbreeding, t) == pytest.approx(size, rel=1e-5)
    assert diversity_after(size, t) + inbreeding == pytest.approx(1)


def test_inbreeding_that_does_not_rise_is_an_infinite_size():
    assert size_from_inbreeding(0.2, 0.1) == math.inf


def test_the_size_needed_keeps_what_was_asked():
    assert diversity_after(size_needed(0.9, 30, 3), 10) == pytest.approx(0.9)


WRONG = [
    lambda: size_from_sexes(-1, 2),
    lambda: size_from_families(0, 1),
    lambda: size_from_families(5, -1),
    lambda: family_variance([3]),
    lambda: family_variance([0, 0]),
    lambda: effective_number([]),
    lambda: effective_number([-1, 2]),
    lambda: size_over_generations([]),
    lambda: size_over_generations([5, 0]),
    lambda: inbreeding_after(0.1, 1),
    lambda: size_from_inbreeding(0.1, 1.0),
    lambda: size_needed(1.0, 100, 2),
    lambda: differentiation(-1),
]


@pytest.mark.parametrize("call", WRONG)
def test_what_has_no_meaning_is_refused(call):
    with pytest.raises(EntryError):
        call()
