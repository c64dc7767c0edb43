from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.development import RateCurve, briere_rate, ikemoto_takai_line, rate_line
from boxside.core.values.errors import EntryError

quick = settings(deadline=None, max_examples=100)


@quick
@given(st.floats(1, 15), st.floats(20, 3000))
def test_exact_rearings_give_back_their_threshold_and_constant(t0, k):
    warm = np.array([t0 + 3, t0 + 6, t0 + 10, t0 + 13])
    for method in (rate_line, ikemoto_takai_line):
        line = method(warm, k / (warm - t0))
        assert line.t0_c == pytest.approx(t0, rel=1e-6)
        assert line.k_dd == pytest.approx(k, rel=1e-6)
        assert line.r2 == pytest.approx(1.0)
        assert line.usable
        assert line.days(t0 + 5) == pytest.approx(k / 5, rel=1e-6)
        assert line.days(t0 - 1) == math.inf


def test_a_poor_line_is_warned_of_but_may_be_used():
    line = rate_line([14, 17, 20, 23], [60, 90, 30, 40])
    assert line.r2 < 0.9
    assert line.usable == (line.t0_c >= 0)
    assert any("explains" in warning for warning in line.warnings)


def test_rearings_that_slow_down_with_warmth_are_refused():
    for method in (rate_line, ikemoto_takai_line):
        line = method([15, 20, 25], [30, 35, 50])
        assert not line.usable
        with pytest.raises(EntryError, match="Nothing was predicted"):
            line.days(20)


@pytest.mark.parametrize(
    ("warm", "days"),
    [([15, 20], [30, 20]), ([20, 20, 20], [30, 31, 29]), ([15, 20, 25], [30, 20])],
)
def test_too_few_rearings_are_refused(warm, days):
    with pytest.raises(EntryError, match="three rearings"):
        rate_line(warm, days)


@pytest.mark.parametrize("bad", [0.0, -3.0, math.nan, math.inf])
def test_a_duration_that_is_no_number_of_days_is_refused(bad):
    with pytest.raises(EntryError, match="above 0"):
        rate_line([15, 20, 25], [30, bad, 10])


def test_the_fitted_pair_carries_its_errors_into_a_need():
    need = rate_line([15, 20, 25], [94.7, 41.7, 18.5]).need("own rearings")
    assert need.t0_sd_c > 0
    assert need.k_sd_dd > 0
    assert -1 <= need.correlation < -0.5
    assert need.source == "own rearings"


@quick
@given(st.floats(5, 12), st.floats(30, 38), st.floats(16, 24))
def test_the_bent_curve_meets_the_straight_one_where_the_constant_is_known(t0, lethal, reference):
    curve = RateCurve(lethal_c=lethal, reference_c=reference)
    assert curve.effect_dd(reference, reference, t0) == pytest.approx(reference - t0)
    assert curve.effect_dd(lethal + 1, lethal + 1, t0) == 0
    assert curve.effect_dd(t0 - 1, t0 - 1, t0) == 0


def test_a_cutoff_holds_the_rate_level():
    curve = RateCurve(upper_c=25.0)
    assert curve.effect_dd(24, 26, 10) < curve.effect_dd(26, 28, 10) == pytest.approx(15.0)
    assert curve.effect_dd(35, 40, 10) == pytest.approx(15.0)


def test_a_hot_end_without_a_reference_is_refused():
    for curve in (RateCurve(lethal_c=35.0), RateCurve(lethal_c=35.0, reference_c=8.0)):
        with pytest.raises(EntryError, match="hot end"):
            curve.effect_dd(15, 20, 10.0)
    with pytest.raises(EntryError, match="lethal temperature"):
        briere_rate(20, 1e-4, -1, 35)
    with pytest.raises(EntryError, match="lethal temperature"):
        briere_rate(20, 1e-4, 12, 11)
