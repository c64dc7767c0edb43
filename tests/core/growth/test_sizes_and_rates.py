"""Sizes by day, growth rates, spread, maturity and earlier cohorts."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.growth import (
    Body,
    Measured,
    Pace,
    SpreadRule,
    compare_at_age,
    growth_line,
    growth_of_pairs,
    growth_per_day,
    growth_per_moult,
    near_mature,
    size_chart,
    size_spread,
    sizes_by_day,
)
from boxside.core.growth.student import two_sided_t
from boxside.core.values.chart import Role

quick = settings(deadline=None, max_examples=60)
lengths = st.lists(st.floats(1.0, 40.0), min_size=1, max_size=20)


def test_days_come_in_order_with_every_body():
    days = sizes_by_day([Body(9, 7.0), Body(2, 4.0), Body(9, 5.0), Body(9, 6.0)])
    assert [(day.day, day.n) for day in days] == [(2, 1), (9, 3)]
    assert days[1].lengths_mm == (5.0, 6.0, 7.0)
    assert (days[1].lower_mm, days[1].median_mm, days[1].upper_mm) == (5.5, 6.0, 6.5)
    assert sizes_by_day([]) == ()


@quick
@given(lengths)
def test_quartiles_are_in_order_and_within_the_bodies(values):
    (day,) = sizes_by_day([Body(1.0, value) for value in values])
    assert min(values) <= day.lower_mm <= day.median_mm <= day.upper_mm <= max(values)


@pytest.mark.parametrize("bad", [0.0, -2.0, math.nan, math.inf])
def test_sizes_that_cannot_be_are_refused(bad):
    with pytest.raises(ValueError, match="above zero"):
        sizes_by_day([Body(1.0, bad)])


def test_growth_by_hand():
    """4 to 6 mm in ten days: 0.2 mm a day, ln(1.5) / 10 relative."""
    found = growth_per_day([4.0, 4.0], [6.0, 6.0], 10.0)
    assert found.mm.value == pytest.approx(0.2)
    assert found.relative.value == pytest.approx(math.log(1.5) / 10)
    assert found.mm.interval.low == pytest.approx(found.mm.interval.high)


def test_one_body_gives_growth_without_interval():
    found = growth_per_day([4.0], [6.0, 6.2], 10.0)
    assert found.mm.interval is None
    assert found.relative.interval is None
    assert found.mm.n == 3
    assert growth_of_pairs([(4.0, 6.0)], 10.0).mm.interval is None
    assert growth_per_moult([4.0], [6.0]).interval is None


def test_pairs_see_growth_that_the_spread_of_sizes_hides():
    pairs = [(3.0, 3.31), (6.0, 6.59), (12.0, 13.2), (20.0, 22.0)]
    known = growth_of_pairs(pairs, 10.0).relative
    unknown = growth_per_day([a for a, _ in pairs], [b for _, b in pairs], 10.0).relative
    assert known.value == pytest.approx(unknown.value)
    assert known.interval.low > 0
    assert unknown.interval.low < 0


@quick
@given(st.floats(1.0, 5.0), st.floats(-0.05, 0.05))
def test_growth_line_finds_the_rate_it_was_made_with(start, rate):
    bodies = [Body(float(day), start * math.exp(rate * day)) for day in range(0, 60, 10)]
    assert growth_line(bodies).value == pytest.approx(rate, abs=1e-10)


def test_growth_needs_days_and_bodies():
    with pytest.raises(ValueError, match="days above zero"):
        growth_per_day([4.0], [5.0], 0.0)
    with pytest.raises(ValueError, match="at least 1"):
        growth_per_day([], [5.0], 3.0)
    with pytest.raises(ValueError, match="two days"):
        growth_line([Body(1.0, 4.0), Body(1.0, 5.0), Body(1.0, 6.0)])
    with pytest.raises(ValueError, match="at least 3"):
        growth_line([Body(1.0, 4.0), Body(2.0, 5.0)])
    with pytest.raises(ValueError, match="degree of freedom"):
        two_sided_t(0.95, 0)
    with pytest.raises(ValueError, match="level"):
        two_sided_t(1.0, 3)


def test_even_larvae_need_no_grading():
    spread = size_spread([9.0, 9.5, 10.0, 10.5, 11.0])
    assert not spread.grade_by_size
    assert spread.runts == ()
    assert "within" in spread.reason


def test_larvae_grown_apart_are_to_be_graded_and_runts_named():
    spread = size_spread([14.0, 4.0, 13.0, 12.0, 5.0, 12.5, 13.5])
    assert spread.grade_by_size
    assert spread.runts == (1, 4)
    assert "Grade by size" in spread.reason


def test_few_larvae_are_not_judged():
    spread = size_spread([4.0, 14.0])
    assert not spread.grade_by_size
    assert spread.runts == ()
    assert "Only 2" in spread.reason


def test_the_keeper_sets_how_wide_is_too_wide():
    sizes = [9.0, 9.5, 10.0, 10.5, 11.0]
    assert size_spread(sizes, SpreadRule(widest_ratio=1.1)).grade_by_size
    assert size_spread(sizes, SpreadRule(runt_frac=0.97)).runts == (0, 1)


@quick
@given(lengths, st.floats(0.1, 10.0))
def test_spread_does_not_depend_on_the_unit(values, scale):
    small, large = size_spread(values), size_spread([value * scale for value in values])
    assert large.ratio == pytest.approx(small.ratio)


def test_full_grown_larvae_expect_pupation():
    found = near_mature([12.0, 18.5, 21.0], 20.0, 23.0)
    assert found.expect_pupation
    assert (found.n_near, found.n_mature, found.near) == (2, 1, (1, 2))
    assert "2 of 3" in found.reason


def test_small_larvae_do_not():
    found = near_mature([12.0, 15.0], 20.0, 23.0)
    assert not found.expect_pupation
    assert found.near == ()
    assert "15.0 mm" in found.reason


@pytest.mark.parametrize(("low", "high", "near"), [(23.0, 20.0, 0.9), (0.0, 20.0, 0.9), (20.0, 23.0, 1.1)])
def test_impossible_mature_sizes_are_refused(low, high, near):
    with pytest.raises(ValueError, match=r"not in order|near_frac"):
        near_mature([12.0], low, high, near)


def test_cohort_is_held_against_the_nearest_age():
    earlier = [Measured(30, (5.0, 5.1, 4.9)), Measured(58, (9.0, 9.2, 8.8, 9.1)), Measured(90, (14.0, 14.1))]
    found = compare_at_age(Measured(60, (11.0, 11.2, 10.9, 11.1)), earlier)
    assert found.pace is Pace.AHEAD
    assert found.ratio.value == pytest.approx(1.2244, abs=1e-3)
    assert "age 58" in found.reason
    assert compare_at_age(Measured(60, (7.0, 7.2, 6.9)), earlier).pace is Pace.BEHIND
    assert compare_at_age(Measured(60, (9.0, 9.1, 8.7)), earlier).pace is Pace.ALIKE


def test_too_few_or_too_far_cannot_be_compared():
    earlier = [Measured(30, (5.0, 5.1))]
    assert compare_at_age(Measured(60, (9.0,)), earlier) is None
    assert compare_at_age(Measured(31, (9.0,)), earlier).pace is Pace.CANNOT_TELL


def test_sizes_become_dots_with_boxes_where_there_are_enough():
    days = sizes_by_day([Body(10, 4.0), *(Body(20, 5.0 + i) for i in range(5))])
    chart = size_chart({"this year": days, "last year": days[:1]}, "Larvae")
    main, past = chart.series
    assert (main.role, past.role) == (Role.MAIN, Role.PAST)
    assert len(main.x) == 6
    assert [box.x for box in main.boxes] == [20]
    assert main.boxes[0].median == 7.0
    assert past.boxes == ()
    with pytest.raises(ValueError, match="at least one measured"):
        size_chart({"this year": ()}, "Larvae")
