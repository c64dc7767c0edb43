"""What a profile lets expect: closed forms, ends and laws; no published table of instar lengths was found for it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.growth import Frame, expected_length_mm, guess_instars

FRAME = Frame(2.5, (20.0, 23.0), (365.0, 1095.0), 6)


def test_larvae_begin_as_hatchlings_and_end_as_grown_ones() -> None:
    assert expected_length_mm(FRAME, 0.0) == pytest.approx((2.5, 2.5))
    assert expected_length_mm(FRAME, 1095.0) == pytest.approx((20.0, 23.0))
    assert expected_length_mm(FRAME, 5000.0) == pytest.approx((20.0, 23.0))


def test_half_way_in_time_is_the_geometric_mean_in_length() -> None:
    low, _ = expected_length_mm(FRAME, 1095.0 / 2)
    _, high = expected_length_mm(FRAME, 365.0 / 2)
    assert (low, high) == pytest.approx((math.sqrt(2.5 * 20), math.sqrt(2.5 * 23)))


@given(st.floats(0, 2000), st.floats(0, 500))
@settings(deadline=None, max_examples=50)
def test_nobody_is_expected_to_shrink(age: float, more: float) -> None:
    before, after = expected_length_mm(FRAME, age), expected_length_mm(FRAME, age + more)
    assert before[0] <= before[1]
    assert after[0] >= before[0] - 1e-9
    assert after[1] >= before[1] - 1e-9


def test_the_middle_of_each_instar_is_most_probably_of_it() -> None:
    """Six equal steps on the logarithm from 2.5 to 21.5 mm: a ratio of 1.431 a moult."""
    ratio = (21.5 / 2.5) ** (1 / 6)
    assert ratio == pytest.approx(1.431, abs=1e-3)
    middles = [2.5 * ratio ** (k + 0.5) for k in range(6)]
    guess = guess_instars(FRAME, middles)
    assert guess.most_probable() == (1, 2, 3, 4, 5, 6)
    # Half a step is 0.179 on the logarithm, 1.494 sigmas of 0.12: erf(1.494 / sqrt 2) = 0.8649 lie within.
    assert guess.probability[2][2] == pytest.approx(math.erf(math.log(ratio) / 2 / 0.12 / math.sqrt(2)))
    assert guess.probability[2][2] == pytest.approx(0.8649, abs=2e-3)


def test_on_the_border_two_instars_are_equally_probable() -> None:
    guess = guess_instars(FRAME, [2.5 * (21.5 / 2.5) ** (3 / 6)])
    assert guess.probability[0][2] == pytest.approx(guess.probability[0][3])


@given(st.lists(st.floats(0.2, 80), min_size=1, max_size=20))
@settings(deadline=None, max_examples=50)
def test_probabilities_add_up_and_longer_ones_are_not_younger(lengths: list[float]) -> None:
    guess = guess_instars(FRAME, sorted(lengths))
    for row in guess.probability:
        assert sum(row) == pytest.approx(1.0)
        assert min(row) >= 0.0
    assert list(guess.most_probable()) == sorted(guess.most_probable())


@pytest.mark.parametrize(
    "wrong",
    [(0.0, (20, 23), (365, 1095), 6), (2.5, (2.0, 23), (365, 1095), 6), (2.5, (23, 20), (365, 1095), 6),
     (2.5, (20, 23), (0, 10), 6), (2.5, (20, 23), (10, 5), 6), (2.5, (20, 23), (10, 50), 0)],
)  # fmt: skip
def test_sizes_out_of_order_are_refused(wrong: tuple) -> None:
    with pytest.raises(ValueError, match=r"order|instar"):
        Frame(*wrong)


def test_wrong_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="age"):
        expected_length_mm(FRAME, -1.0)
    with pytest.raises(ValueError, match="log_sd"):
        guess_instars(FRAME, [5.0], log_sd=0.0)
    with pytest.raises(ValueError, match="lengths"):
        guess_instars(FRAME, [])
