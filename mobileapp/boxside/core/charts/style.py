"""What tells series apart besides their colour: dashes of lines, forms of markers, textures of areas."""

from __future__ import annotations

from enum import StrEnum

from boxside.core.charts.marks import Form
from boxside.core.values.chart import Chart, Role


class Texture(StrEnum):
    """How an area is filled."""

    PLAIN = "plain"
    RISING = "rising"
    SPOTS = "spots"
    FALLING = "falling"
    LEVEL = "level"
    CROSSED = "crossed"


DASHES: tuple[tuple[float, ...], ...] = ((), (9, 4), (2.5, 3), (12, 3, 2.5, 3), (5, 7))
FORMS = (Form.CIRCLE, Form.DIAMOND, Form.SQUARE, Form.TRIANGLE)
STAGES = {
    Role.EGG: Texture.SPOTS,
    Role.LARVA: Texture.RISING,
    Role.PREPUPA: Texture.LEVEL,
    Role.PUPA: Texture.FALLING,
    Role.ADULT: Texture.PLAIN,
}
LINE_PX, THICK_PX = 2.4, 4.0


def dash(index: int, scale: float) -> tuple[float, ...]:
    """Return the dash of the line with that place among the series, px."""
    return tuple(length * scale for length in DASHES[index % len(DASHES)])


def line_px(index: int) -> float:
    """Return the width of a line: the second round of dashes is drawn thicker."""
    return LINE_PX if index < len(DASHES) else THICK_PX


def form(index: int) -> Form:
    """Return the marker of the series with that place."""
    return FORMS[index % len(FORMS)]


def is_hollow(index: int) -> bool:
    """Whether the marker of the series with that place is hollow: every second one is."""
    return index % 2 == 1


def textures(chart: Chart) -> tuple[Texture, ...]:
    """Return the texture of each series: a stage has its own everywhere, other series go by their place."""
    roles = [series.role for series in chart.series]
    if all(role in STAGES for role in roles) and len(set(roles)) == len(roles):
        return tuple(STAGES[role] for role in roles)
    kinds = tuple(Texture)
    return tuple(kinds[i % len(kinds)] for i in range(len(roles)))
