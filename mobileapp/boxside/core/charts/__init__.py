"""Charts laid out: a chart as data in, shapes with their places out, for every renderer alike."""

from boxside.core.charts.composition import about, layout
from boxside.core.charts.marks import (
    Anchor,
    Drawing,
    Form,
    Hatch,
    Hit,
    Ink,
    Marker,
    Measure,
    Paint,
    Point,
    Polyline,
    Rect,
    Shape,
    Strip,
    Text,
    dashes,
    outline,
)
from boxside.core.charts.palettes import CHART_PALETTES, Palette

__all__ = [
    "CHART_PALETTES",
    "Anchor",
    "Drawing",
    "Form",
    "Hatch",
    "Hit",
    "Ink",
    "Marker",
    "Measure",
    "Paint",
    "Palette",
    "Point",
    "Polyline",
    "Rect",
    "Shape",
    "Strip",
    "Text",
    "about",
    "dashes",
    "layout",
    "outline",
]
