from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.development import Averaging, double_sine, simple_average, single_sine, single_triangle
from boxside.core.values.errors import EntryError

temperature = st.floats(-20, 45)
swing = st.floats(0, 25)
quick = settings(deadline=None, max_examples=150)


def test_arrays_broadcast_and_agree_with_single_days():
    low, high = np.array([5.0, 12.0, 8.0]), np.array([20.0, 24.0, 35.0])
    lower = np.array([[8.0], [10.0]])
    many = single_sine(low, high, lower, 30.0)
    assert many.shape == (2, 3)
    for i, threshold in enumerate(lower[:, 0]):
        for j in range(3):
            assert many[i, j] == single_sine(low[j], high[j], threshold, 30.0)


def test_a_steady_day_counts_its_distance_to_the_threshold():
    for method in (simple_average, single_sine, single_triangle):
        assert method(18.0, 18.0, 11.0) == pytest.approx(7.0)
        assert method(18.0, 18.0, 11.0, 15.0) == pytest.approx(4.0)
        assert method(9.0, 9.0, 11.0) == 0.0
        assert method(11.0, 11.0, 11.0) == 0.0


def test_a_warm_afternoon_over_a_cold_mean_counts_for_the_sine_but_not_for_the_average():
    assert simple_average(2.0, 16.0, 10.0) == 0.0
    assert simple_average(2.0, 16.0, 10.0, averaging=Averaging.EACH) == 3.0
    assert single_sine(2.0, 16.0, 10.0) > 1.0


def test_extremes_the_wrong_way_round_are_refused():
    for method in (simple_average, single_sine, single_triangle):
        with pytest.raises(EntryError, match="highest temperature is below its lowest"):
            method([5.0, 20.0], [10.0, 10.0], 8.0)
        with pytest.raises(EntryError, match="upper threshold is below"):
            method(5.0, 20.0, 12.0, 11.0)


@quick
@given(temperature, swing, temperature, st.floats(0.1, 20), st.floats(0, 10))
def test_a_warmer_day_never_counts_less(low, span, lower, room, shift):
    for method in (single_sine, single_triangle):
        cool = method(low, low + span, lower, lower + room)
        warm = method(low + shift, low + span + shift, lower, lower + room)
        assert warm >= cool - 1e-9
        assert -1e-12 <= cool <= room + 1e-9


@quick
@given(temperature, swing, temperature)
def test_methods_agree_on_a_day_wholly_above_the_threshold(low, span, below):
    lower = min(below, low)
    mean = low + span / 2 - lower
    for method in (simple_average, single_sine, single_triangle):
        assert method(low, low + span, lower) == pytest.approx(mean, abs=1e-9)


@quick
@given(temperature, swing, swing, temperature)
def test_two_half_days_with_one_minimum_are_a_whole_day(low, span, other, lower):
    high = low + span
    assert double_sine(low, high, low, lower) == pytest.approx(single_sine(low, high, lower), abs=1e-9)
    then = high - other
    halves = single_sine(low, high, lower) + single_sine(then, high, lower)
    assert double_sine(low, high, then, lower) == pytest.approx(halves / 2, abs=1e-9)
