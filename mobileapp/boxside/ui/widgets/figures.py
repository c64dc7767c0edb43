"""Rows for figures: a part of a sum with its value, and a chart as wide as the list."""

from __future__ import annotations

from kivy.app import App
from kivy.metrics import sp
from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.core.charts import layout
from boxside.core.values.chart import Chart
from boxside.ui.kv import load_kv
from boxside.ui.widgets.chart import ChartView, measure  # noqa: F401  one is used as a row
from boxside.ui.widgets.fitting import text_size, widest_word
from boxside.ui.widgets.rows import LINE, RowData, head, paragraph

CHART_HIGH = 0.72
LARGE_TYPE = 1.3
VALUE_SHARE = 0.34


class PartRow(BoxLayout):
    """One part of a sum: what it stands for at the left, how much at the right."""

    label = StringProperty("")
    value = StringProperty("")


def part_row(width: float, label: str, value: str) -> RowData:
    """Return the data of one part of a sum, as high as its texts; the value below where large type needs the room."""
    theme = App.get_running_app().theme
    room = width - theme.half
    left, right = room * (1 - VALUE_SHARE), room * VALUE_SHARE
    if widest_word(label, theme.font, theme.text) > left or widest_word(value, theme.font_strong, theme.text) > right:
        return paragraph(width, value, label)
    highs = [
        text_size(text, font, theme.text, float(int(wide)))[1]
        for text, font, wide in ((label, theme.font, left), (value, theme.font_strong, right))
        if text
    ]
    return {
        "viewclass": "PartRow", "label": label, "value": value,
        "row_size": (None, max(highs, default=theme.text) * LINE),
    }  # fmt: skip


def chart_rows(width: float, chart: Chart | None, high: float = CHART_HIGH) -> list[RowData]:
    """Return a chart as a row as wide as the list, its title above and the rest below where it has no room for them."""
    if chart is None or width < 1:
        return []
    high *= 1 if App.get_running_app().theme.is_roomy else LARGE_TYPE
    left_out = layout(chart, width, width * high, measure, scale=sp(1)).left_out
    drawn: RowData = {"viewclass": "ChartView", "chart": chart, "high": high, "row_size": (None, width * high)}
    titles = [head(width, chart.title)] if chart.title in left_out else []
    rest = "\n".join(text for text in left_out if text != chart.title)
    return [*titles, drawn, *([paragraph(width, rest)] if rest else [])]


load_kv(__file__)

__all__ = ["PartRow", "chart_rows", "part_row"]
