"""Survival as charts: a curve where there are deaths enough for one, counts where there are not."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from boxside.core.survival.curve import SurvivalCurve
from boxside.core.survival.stages import StageSurvival
from boxside.core.values.chart import Bars, Chart, Role, Steps, category_axis, number_axis

_ROLES = (Role.MAIN, Role.OTHER, Role.PAST, Role.QUIET)


def survival_chart(curves: Mapping[str, SurvivalCurve], title: str) -> Chart:
    """Return the curves by name as steps with bands; the band ends where no formula gives one.

    Notes
    -----
    If any curve rests on too few deaths, the chart of counts is returned instead of curves.

    Raises
    ------
    ValueError : if there is no curve
    """
    if not curves:
        raise ValueError("a survival chart needs at least one curve")
    if any(curve.show_counts_not_curve for curve in curves.values()):
        return counts_chart(curves, title)
    last = max(curve.last_day for curve in curves.values())
    series = tuple(_steps(name, curve, _ROLES[i % len(_ROLES)]) for i, (name, curve) in enumerate(curves.items()))
    age, alive = number_axis("age", "d", 0.0, last), number_axis("alive", "share", 0.0, 1.0)
    return Chart(title, age, alive, series, _notes(curves))


def _steps(name: str, curve: SurvivalCurve, role: Role) -> Steps:
    low = tuple(s if math.isnan(v) else v for v, s in zip(curve.low, curve.survival, strict=True))
    high = tuple(s if math.isnan(v) else v for v, s in zip(curve.high, curve.survival, strict=True))
    return Steps(
        name, role, (0.0, *curve.days), (1.0, *curve.survival), curve.last_day, (1.0, *low), (1.0, *high),
        curve.censored_days,
    )  # fmt: skip


def counts_chart(curves: Mapping[str, SurvivalCurve], title: str) -> Chart:
    """Return how many animals of each group died, and how many did not, as bars."""
    names = tuple(curves)
    x = tuple(float(i) for i in range(len(names)))
    died = tuple(float(curve.n_events) for curve in curves.values())
    alive = tuple(float(curve.n - curve.n_events) for curve in curves.values())
    most = max(1.0, *(curve.n for curve in curves.values()))
    series = (
        Bars("died", Role.BAD, tuple(at - 0.2 for at in x), died),
        Bars("not died", Role.GOOD, tuple(at + 0.2 for at in x), alive),
    )
    x_axis, y_axis = category_axis("", names), number_axis("animals", "", 0.0, most)
    return Chart(title, x_axis, y_axis, series, _notes(curves))


def _notes(curves: Mapping[str, SurvivalCurve]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(limit for curve in curves.values() for limit in curve.limits))


def stage_chart(stages: Sequence[StageSurvival], title: str) -> Chart:
    """Return the share that gets through each stage as bars with whiskers.

    Raises
    ------
    ValueError : if the survival of no stage is known
    """
    known = [
        (s.stage.value, s.survival.value, s.survival.interval)
        for s in stages
        if s.survival is not None and s.survival.interval is not None
    ]
    x = tuple(float(i) for i in range(len(known)))
    bars = Bars(
        "got through", Role.MAIN, x, tuple(share for _, share, _ in known),
        tuple(interval.low for _, _, interval in known), tuple(interval.high for _, _, interval in known),
    )  # fmt: skip
    notes = tuple(dict.fromkeys(limit for s in stages for limit in s.limits))
    names = category_axis("stage", tuple(name for name, _, _ in known))
    return Chart(title, names, number_axis("got through", "share", 0.0, 1.0), (bars,), notes)
