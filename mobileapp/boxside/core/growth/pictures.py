"""Sizes over time as a chart: every body a dot, a quartile box where there are enough."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boxside.core.growth.sizes import LIMITS, SizeDay
from boxside.core.values.chart import Chart, Dots, QuartileBox, Role, number_axis

_LEAST_FOR_BOX = 5
_ROLES = (Role.MAIN, Role.PAST, Role.OTHER, Role.QUIET)


def size_chart(cohorts: Mapping[str, Sequence[SizeDay]], title: str) -> Chart:
    """Return the sizes of one or more cohorts by age in days, the first as the main one.

    Raises
    ------
    ValueError : if nothing was measured
    """
    days = [day for sizes in cohorts.values() for day in sizes]
    if not days:
        raise ValueError("a size chart needs at least one measured body")
    x = number_axis("age", "d", min(0.0, *(day.day for day in days)), max(day.day for day in days))
    y = number_axis("length", "mm", 0.0, max(day.lengths_mm[-1] for day in days))
    series = tuple(_dots(name, sizes, _ROLES[i % len(_ROLES)]) for i, (name, sizes) in enumerate(cohorts.items()))
    return Chart(title, x, y, series, LIMITS)


def _dots(name: str, sizes: Sequence[SizeDay], role: Role) -> Dots:
    points = [(day.day, length) for day in sizes for length in day.lengths_mm]
    boxes = tuple(
        QuartileBox(day.day, day.lower_mm, day.median_mm, day.upper_mm) for day in sizes if day.n >= _LEAST_FOR_BOX
    )
    return Dots(name, role, tuple(x for x, _ in points), tuple(y for _, y in points), boxes)
