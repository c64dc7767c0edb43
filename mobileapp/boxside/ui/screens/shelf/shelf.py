"""Shelf: every box, most pressing first; find one by its code, add one."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from boxside.core.values.views import ShelfRow, ShelfView
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import Fold  # noqa: F401  used by the kv file
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, row, rows_width
from boxside.ui.words import say, say_n

STRETCH = 50
NEAR_END = 0.2


class ShelfScreen(Page):
    """Shows the boxes in stretches of fifty, the next one when the end comes near."""

    view = ObjectProperty(None, allownone=True)
    boxes = ListProperty([])
    data = ListProperty([])
    search = StringProperty("")
    how_many = StringProperty("")
    nothing = StringProperty("")
    is_found = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._fetching = False
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)

    def enter(self, search: str = "", **_: Any) -> None:
        """Show the boxes that match, from the most pressing on."""
        self.search = search
        self.ask("shelf_view", search, 0, STRETCH, then=self.show)

    def show(self, view: ShelfView) -> None:
        """Show the first stretch."""
        self.view = view
        self.boxes = list(view.rows)
        self.how_many = say_n("all_boxes", view.total)
        self.is_found = bool(view.search)
        self.nothing = "" if view.rows else say("no_boxes_found" if view.search else "no_boxes")
        self._lay()
        self.ids.rows.scroll_y = 1

    def _lay(self, *_: Any) -> None:
        self.data = [self._row(box) for box in self.boxes]

    def _row(self, box: ShelfRow) -> RowData:
        return row(
            rows_width(self.ids.rows), self.open, box.box_id,
            mark=box.label, title=box.who, detail=box.due, is_late=box.late, trail="right",
        )  # fmt: skip

    def on_size(self, *_: Any) -> None:
        self._remeasure()

    def more(self, scroll_y: float) -> None:
        """Fetch the next stretch when less than a fifth is left below."""
        if self.view is None or self._fetching or scroll_y > NEAR_END or len(self.boxes) >= self.view.total:
            return
        self._fetching = True
        self.ask("shelf_view", self.search, len(self.boxes), STRETCH, then=self._add)

    def _add(self, view: ShelfView) -> None:
        self._fetching = False
        if view.search == self.search and view.offset == len(self.boxes):
            self.boxes = [*self.boxes, *view.rows]
            self.data = [*self.data, *(self._row(box) for box in view.rows)]

    def find(self) -> None:
        """Ask for a code, then show the boxes that have it."""
        self.shell.open_code(say("find"), say("find"), self._found, hint=say("find_hint"))

    def _found(self, code: str) -> None:
        self.enter(search=code)

    def open(self, box_id: str) -> None:
        """Show one box."""
        self.shell.go("box", box_id=box_id, back_to="shelf")


load_kv(__file__)

__all__ = ["STRETCH", "ShelfScreen"]
