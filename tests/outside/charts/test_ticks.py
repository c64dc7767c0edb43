"""Round ticks against the published algorithm."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from boxside.core.charts.ticks import loose_step, nice_number, number_choices
from boxside.core.values.chart import Axis, AxisKind, nice_ticks

CHECKS = tomllib.loads((Path(__file__).parents[3] / "shared/checks/charts.toml").read_text("utf8"))


@pytest.mark.parametrize(
    "case", CHECKS["loose_label"]["cases"], ids=lambda case: f"{case['minimum']} to {case['maximum']}"
)
def test_steps_of_ticks_match_heckbert_1990(case):
    step = loose_step(case["minimum"], case["maximum"], case["n"])
    assert step == pytest.approx(case["step"], rel=1e-9)
    axis = Axis("", "", AxisKind.NUMBER, case["first"], case["last"], ())
    ticks = next(t for t in number_choices(axis) if t[1].at - t[0].at == pytest.approx(case["step"]))
    assert ticks[0].at == pytest.approx(case["first"], abs=1e-9)
    assert ticks[-1].at == pytest.approx(case["last"], abs=1e-9)


@pytest.mark.parametrize(
    "case", CHECKS["loose_label"]["cases"], ids=lambda case: f"{case['minimum']} to {case['maximum']}"
)
def test_ends_of_axes_match_heckbert_1990(case):
    ticks = nice_ticks(case["minimum"], case["maximum"], case["n"])
    assert ticks == pytest.approx([case["first"] + i * case["step"] for i in range(len(ticks))], abs=1e-9)
    assert ticks[-1] == pytest.approx(case["last"])


def test_nice_numbers_match_heckbert_1990():
    for x, rounded, ceiling in CHECKS["nicenum"]["cases"]:
        for power in (1e-3, 1.0, 1e4):
            assert nice_number(x * power, is_rounded=True) == pytest.approx(rounded * power)
            assert nice_number(x * power, is_rounded=False) == pytest.approx(ceiling * power)
