"""The measuring card: made as a page to print in two sizes, and corrected by what its printed line measures."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from kivy.clock import Clock
from kivy.properties import ListProperty, NumericProperty, StringProperty

from boxside.core.values.errors import BoxsideError
from boxside.core.values.photo_view import CardView
from boxside.core.values.views import Notice
from boxside.ui.acts import can_share, share_file
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, paragraph, row, rows_width
from boxside.ui.words import say

SIZES = ("a6", "card")
LEAST_BAR_MM, MOST_BAR_MM = 45.0, 55.0
PDF = "application/pdf"


class CardScreen(Page):
    """Shows both sizes of the card and the length of its check line."""

    views = ListProperty([])
    data = ListProperty([])
    bar_mm = NumericProperty(50.0)
    back_to = StringProperty("settings")

    def __init__(self, **kwargs: Any) -> None:
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)

    def on_kv_post(self, _: Any) -> None:
        self.ids.rows.fbind("width", self._remeasure)

    def enter(self, back_to: str = "settings", **_: Any) -> None:
        """Show the card as it is printed."""
        self.back_to = back_to
        self.refresh()

    def refresh(self, *_: Any) -> None:
        """Fetch what is shown anew."""
        self.views = []
        for size in SIZES:
            self.ask("card_view", size, then=self.show)

    def show(self, view: CardView) -> None:
        """Show one size; they come one after the other."""
        self.views = [*self.views, view]
        self.bar_mm = view.bar_measured_mm
        self._lay()

    def _lay(self, *_: Any) -> None:
        width = rows_width(self.ids.rows)
        self.data = [
            paragraph(width, say("card_needs_print"), icon="card"),
            *(self._size(width, view) for view in self.views),
            row(width, self.ask_bar, None, icon="ruler", title=say("card_bar", mm=f"{self.bar_mm:.1f}"),
                detail=say("card_bar_hint"), trail="right"),
        ]  # fmt: skip

    def _size(self, width: float, view: CardView) -> RowData:
        title = say("card_size_a6") if view.size == "a6" else say("card_size_card")
        across, down = view.size_mm
        detail = say("card_is", width=f"{across:g}", height=f"{down:g}")
        return row(width, self.make, view.size, icon="save", title=title, detail=detail, trail="right")

    # ---- what can be done ----

    def make(self, size: str) -> None:
        """Write the page to print, and say where it is."""
        self.ask("save_card", size, then=self._made)

    def _made(self, path: Path) -> None:
        self.shell.services.device.haptics.confirm()
        other = say("share") if can_share(self.shell.services) else ""
        notice = Notice(say("written"), str(path), say("card_made_do"))
        self.shell.show(notice, other=other, then_other=partial(self._share, path), other_icon="share")

    def _share(self, path: Path) -> None:
        try:
            share_file(self.shell.services, path, PDF)
        except BoxsideError as error:
            self.shell.show(Notice(what=str(error), bad=True))

    def ask_bar(self, _: Any) -> None:
        """Ask what the printed check line measures."""
        self.shell.open_number(
            say("card_bar", mm=f"{self.bar_mm:.1f}"), hint=say("card_bar_hint"), by_keypad=True, whole=False, unit="mm",
            minimum=LEAST_BAR_MM, maximum=MOST_BAR_MM, then=self._set_bar,
        )  # fmt: skip

    def _set_bar(self, measured_mm: float) -> None:
        self.ask("set_bar_mm", measured_mm, then=self._bar_kept)

    def _bar_kept(self, _: Any) -> None:
        self.shell.services.device.haptics.confirm()
        self.refresh()
        self.shell.tell(Notice(say("card_bar_kept")))


load_kv(__file__)

__all__ = ["CardScreen"]
