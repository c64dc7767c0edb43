"""Rows of lists: a target, a heading, a paragraph; each as high as its measured text."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.app import App
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.ui.kv import load_kv
from boxside.ui.widgets.fitting import text_size
from boxside.ui.widgets.press import Press

RowData = dict[str, Any]
LINE = 1.15
BETWEEN_DP = 4
BAR_DP = 12


class Row(Press, BoxLayout):
    """A target over the full width: a code or an icon, a title, its detail, a softer last line."""

    mark = StringProperty("")
    icon = StringProperty("")
    title = StringProperty("")
    detail = StringProperty("")
    soft = StringProperty("")
    trail = StringProperty("")
    is_late = BooleanProperty(False)
    is_struck = BooleanProperty(False)
    mark_width = NumericProperty(0)
    item = ObjectProperty(None, allownone=True)
    pick = ObjectProperty(None, allownone=True)

    def on_act(self) -> None:
        """Hand its item to whoever picks."""
        if self.pick is not None:
            self.pick(self.item)


class HeadRow(BoxLayout):
    """A heading between rows."""

    title = StringProperty("")


class TextRow(BoxLayout):
    """A paragraph between rows, with a heading of its own where it has one."""

    icon = StringProperty("")
    title = StringProperty("")
    detail = StringProperty("")


def _high(text: str, font: str, size: float, width: float) -> float:
    return text_size(text, font, size, float(int(width)))[1] * LINE + dp(BETWEEN_DP) if text else 0.0


def rows_width(view: Any) -> float:
    """Return how wide the rows of a list are: beside its scroll bar."""
    return float(view.width) - dp(BAR_DP)


def row(width: float, pick: Callable[[Any], None], item: Any, **shown: Any) -> RowData:
    """Return the data of a `Row` that is `width` px wide, with its height measured."""
    theme = App.get_running_app().theme
    if shown.get("mark") and not theme.is_roomy:
        # With large type the code stands above the title instead of beside it.
        shown = {**shown, "mark": "", "title": f"{shown['mark']}\n{shown.get('title', '')}"}
    mark_width = max(dp(64), theme.label * 2.5) + theme.half if shown.get("mark") else 0.0
    icons = sum(theme.icon + theme.half for name in ("icon", "trail") if shown.get(name))
    room = width - 2 * theme.gap - icons - mark_width
    detail_room = room - (theme.icon + theme.half if shown.get("is_late") else 0.0)
    high = (
        _high(shown.get("title", ""), theme.font_strong, theme.text, room)
        + _high(shown.get("detail", ""), theme.font, theme.text, detail_room)
        + _high(shown.get("soft", ""), theme.font, theme.text, room)
    )
    data: RowData = {
        "viewclass": "Row", "mark": "", "icon": "", "title": "", "detail": "", "soft": "", "trail": "",
        "is_late": False, "is_struck": False, "mark_width": mark_width, "pick": pick, "item": item,
        "row_size": (None, max(theme.target, high + theme.gap + theme.half)),
    }  # fmt: skip
    return {**data, **shown}


def head(width: float, title: str) -> RowData:
    """Return the data of a heading."""
    theme = App.get_running_app().theme
    high = _high(title, theme.font_strong, theme.lead, width)
    return {"viewclass": "HeadRow", "title": title, "row_size": (None, high + theme.half)}


def paragraph(width: float, detail: str, title: str = "", icon: str = "") -> RowData:
    """Return the data of a paragraph."""
    theme = App.get_running_app().theme
    room = width - (theme.icon + theme.half if icon else 0.0)
    high = _high(title, theme.font_strong, theme.text, room) + _high(detail, theme.font, theme.text, room)
    return {
        "viewclass": "TextRow", "title": title, "detail": detail, "icon": icon, "row_size": (None, high + theme.half),
    }  # fmt: skip


load_kv(__file__)

__all__ = ["HeadRow", "Row", "RowData", "TextRow", "head", "paragraph", "row", "rows_width"]
