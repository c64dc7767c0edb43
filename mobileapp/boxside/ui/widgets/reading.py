"""A sheet to read: rows of text and bars, turned by buttons, with one way out and at most one way on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.ui.kv import load_kv
from boxside.ui.widgets.fitting import text_size
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, rows_width
from boxside.ui.widgets.sheet import Sheet

BAR_DP = 12.0


class ShareRow(BoxLayout):
    """A share in words, and a bar as long as it."""

    title = StringProperty("")
    share = NumericProperty(0)


class ReadingSheet(Sheet):
    """Shows what `rows_of` returns for the width there is."""

    rows_of = ObjectProperty(None, allownone=True)
    data = ListProperty([])
    yes = StringProperty("")
    yes_icon = StringProperty("right")
    then = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs: Any) -> None:
        self._relay = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)
        self.ids.rows.fbind("width", self._relay)
        self._relay()

    def _lay(self, *_: Any) -> None:
        if self.rows_of is not None and self.ids.rows.width > dp(BAR_DP):
            self.data = self.rows_of(rows_width(self.ids.rows))

    def refresh(self) -> None:
        """Show what `rows_of` returns now, where one was reading."""
        self._lay()

    def go_on(self) -> None:
        """Close, then do what `then` does."""
        self.close()
        if self.then is not None:
            self.then()


def share(width: float, title: str, part: float) -> RowData:
    """Return the data of a share."""
    theme = App.get_running_app().theme
    high = text_size(title, theme.font, theme.text, float(int(width)))[1] * 1.15 + dp(6) + dp(BAR_DP)
    return {"viewclass": "ShareRow", "title": title, "share": part, "row_size": (None, high)}


def read(shell: Any, title: str, rows_of: Callable[[float], list[RowData]], **values: Any) -> None:
    """Open a sheet to read."""
    shell.open_sheet(ReadingSheet(title=title, rows_of=rows_of, **values))


load_kv(__file__)

__all__ = ["ReadingSheet", "ShareRow", "read", "share"]
