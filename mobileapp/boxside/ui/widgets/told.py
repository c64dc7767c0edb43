"""What stands behind a figure: a sheet of rows that says how it comes about, and rows for sums and charts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.core.charts import layout
from boxside.core.values.chart import Chart
from boxside.ui.kv import load_kv
from boxside.ui.widgets.actgrid import Fold  # noqa: F401  used by the kv file
from boxside.ui.widgets.chart import ChartView, measure  # noqa: F401  one is used as a row
from boxside.ui.widgets.fitting import text_size
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import LINE, RowData, paragraph, rows_width
from boxside.ui.widgets.sheet import Sheet

CHART_HIGH = 0.72
VALUE_SHARE = 0.34


class PartRow(BoxLayout):
    """One part of a sum: what it stands for at the left, how much at the right."""

    label = StringProperty("")
    value = StringProperty("")


class ToldSheet(Sheet):
    """Rows that tell more about one thing; `make` builds them for a width. With `yes` there is something to do."""

    make = ObjectProperty(None, allownone=True)
    data = ListProperty([])
    yes = StringProperty("")
    yes_icon = StringProperty("check")
    then_yes = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs: Any) -> None:
        self._remeasure = Clock.create_trigger(self._lay, -1)
        super().__init__(**kwargs)
        self.ids.rows.fbind("width", self._remeasure)
        self._remeasure()

    def _lay(self, *_: Any) -> None:
        if self.make is not None:
            self.data = self.make(rows_width(self.ids.rows))

    def accept(self) -> None:
        """Close, then do what is to be done."""
        self.close()
        if self.then_yes is not None:
            self.then_yes()


def tell(shell: Any, title: str, make: Callable[[float], list[RowData]], **values: Any) -> None:
    """Lay a sheet over the screen that tells more."""
    shell.open_sheet(ToldSheet(title=title, make=make, **values))


def part_row(width: float, label: str, value: str) -> RowData:
    """Return the data of one part of a sum, as high as its texts."""
    theme = App.get_running_app().theme
    room = width - theme.half
    left, right = room * (1 - VALUE_SHARE), room * VALUE_SHARE
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
    """Return a chart as a row as wide as the list, and below it what had no room in it."""
    if chart is None:
        return []
    left_out = layout(chart, width, width * high, measure, scale=sp(1)).left_out
    drawn: RowData = {"viewclass": "ChartView", "chart": chart, "high": high, "row_size": (None, width * high)}
    return [drawn, *(paragraph(width, text) for text in left_out)]


load_kv(__file__)

__all__ = ["PartRow", "ToldSheet", "chart_rows", "part_row", "tell"]
