"""Charts as values: ticks, axes, layers, and what survival makes of them."""

import math
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.survival import (
    Fate,
    Life,
    Missing,
    Span,
    Stay,
    stage_chart,
    stage_survival,
    survival_chart,
    survival_curve,
)
from boxside.core.values.chart import (
    Axis,
    AxisKind,
    Bands,
    Bars,
    Dots,
    Role,
    Steps,
    category_axis,
    date_axis,
    nice_ticks,
    number_axis,
    stacked,
)
from boxside.core.values.stages import Stage

quick = settings(deadline=None, max_examples=150)


@pytest.mark.parametrize(
    ("lo", "hi", "n", "expected"),
    [
        (0, 1, 6, (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)),
        (0, 23, 5, (0.0, 5.0, 10.0, 15.0, 20.0, 25.0)),
        (13, 87, 5, (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)),
        (-0.3, 0.3, 4, (-0.4, -0.2, 0.0, 0.2, 0.4)),
        (0, 0, 3, (-0.5, 0.0, 0.5)),
    ],
)
def test_ticks_stand_on_round_numbers(lo, hi, n, expected):
    assert nice_ticks(lo, hi, n) == pytest.approx(expected)


@quick
@given(st.floats(-1e6, 1e6), st.floats(1e-4, 1e6), st.integers(2, 10))
def test_ticks_cover_the_range_evenly(lo, width, n):
    hi = lo + width
    ticks = nice_ticks(lo, hi, n)
    step = ticks[1] - ticks[0]
    assert 2 <= len(ticks) <= 1.5 * n + 2
    assert ticks[0] <= lo + 1e-6 * step
    assert ticks[-1] >= hi - 1e-6 * step
    assert all(b - a == pytest.approx(step, rel=1e-4) for a, b in pairwise(ticks))


@pytest.mark.parametrize(("lo", "hi", "n"), [(1, 0, 5), (0, math.inf, 5), (math.nan, 1, 5), (0, 1, 1)])
def test_ticks_of_no_range_are_refused(lo, hi, n):
    with pytest.raises(ValueError, match="no ticks"):
        nice_ticks(lo, hi, n)


def test_days_are_labelled_in_iso():
    axis = date_axis("day", date(2024, 2, 26), date(2024, 3, 7), 3)
    assert axis.kind is AxisKind.DATE
    assert [tick.label for tick in axis.ticks] == ["2024-02-26", "2024-03-02", "2024-03-07"]
    assert axis.maximum - axis.minimum == 10


def test_one_day_still_has_a_length():
    axis = date_axis("day", date(2024, 5, 1), date(2024, 5, 1))
    assert axis.maximum - axis.minimum == 1
    with pytest.raises(ValueError, match="no day axis"):
        date_axis("day", date(2024, 5, 2), date(2024, 5, 1))


def test_names_stand_at_whole_places():
    axis = category_axis("stage", ("egg", "larva"))
    assert [(tick.at, tick.label) for tick in axis.ticks] == [(0.0, "egg"), (1.0, "larva")]
    assert (axis.minimum, axis.maximum) == (-0.5, 1.5)
    with pytest.raises(ValueError, match="no categories"):
        category_axis("stage", ())


def test_layers_stand_on_each_other():
    eggs, larvae = stacked((("egg", Role.EGG, (5.0, 2.0)), ("larva", Role.LARVA, (0.0, 3.0))), (1.0, 2.0))
    assert eggs.high == larvae.low == (5.0, 2.0)
    assert larvae.high == (5.0, 5.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Steps("a", Role.MAIN, (1.0,), (), 2.0),
        lambda: Steps("a", Role.MAIN, (1.0,), (1.0,), 2.0, low=(0.5,)),
        lambda: Dots("a", Role.MAIN, (1.0,), ()),
        lambda: Bars("a", Role.MAIN, (1.0,), (1.0, 2.0)),
        lambda: Bars("a", Role.MAIN, (1.0,), (1.0,), high=(2.0,)),
        lambda: Bands("a", Role.MAIN, (1.0,), (1.0,), ()),
        lambda: stacked((("a", Role.MAIN, (1.0,)),), (1.0, 2.0)),
    ],
)
def test_series_with_unequal_columns_are_refused(make):
    with pytest.raises(ValueError, match="unequal length"):
        make()


def test_axis_without_length_is_refused():
    with pytest.raises(ValueError, match="no length"):
        Axis("x", "", AxisKind.NUMBER, 1.0, 1.0, ())
    assert number_axis("x", "mm", 3.0, 3.0).minimum < 3.0


def test_enough_deaths_give_a_curve_that_starts_at_one():
    curve = survival_curve([Life(float(day), True) for day in range(1, 13)])
    chart = survival_chart({"box 3": curve}, "Larvae")
    (steps,) = chart.series
    assert isinstance(steps, Steps)
    assert (steps.x[0], steps.y[0]) == (0.0, 1.0)
    assert steps.y[-1] == 0.0
    assert not any(math.isnan(value) for value in (*steps.low, *steps.high))
    assert chart.x.maximum >= curve.last_day
    assert chart.notes == curve.limits


def test_few_deaths_in_one_group_give_counts_for_all():
    many = survival_curve([Life(float(day), True) for day in range(1, 13)])
    few = survival_curve([Life(3.0, True, 2), Life(9.0, False, 5)])
    chart = survival_chart({"box 3": many, "box 4": few}, "Larvae")
    died, alive = chart.series
    assert isinstance(died, Bars)
    assert died.y == (12.0, 2.0)
    assert alive.y == (0.0, 5.0)
    assert any("Fewer than 10" in note for note in chart.notes)


def test_no_curve_is_no_chart():
    with pytest.raises(ValueError, match="at least one curve"):
        survival_chart({}, "Larvae")


def test_stages_become_bars_with_whiskers():
    stays = [
        Stay("c", Stage.EGG, Span(0, 7), Span(28, 35), Fate.MOVED_ON, 8),
        Stay("c", Stage.EGG, Span(0, 7), Span(28, 35), Fate.DIED, 2),
    ]
    stages = stage_survival(stays, Missing.DEAD)
    chart = stage_chart(stages, "Stages")
    (bars,) = chart.series
    assert bars.y == (0.8,)
    assert bars.low[0] < 0.8 < bars.high[0]
    assert [tick.label for tick in chart.x.ticks] == ["egg"]
