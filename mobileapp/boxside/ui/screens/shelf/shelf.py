"""Shelf: every box, most pressing first; find one by its code or its label, add one."""

from __future__ import annotations

from functools import partial
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from boxside.core.values.views import ShelfRow, ShelfView
from boxside.ui.kv import load_kv
from boxside.ui.outside import ask_photo
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import Fold  # noqa: F401  used by the kv file
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, row, rows_width
from boxside.ui.words import say, say_n

STRETCH = 50
MOST = 200
NEAR = 0.2
SLICE = 10


class ShelfScreen(Page):
    """Shows a window of at most 200 boxes, moved by stretches of fifty when an end comes near.

    What a change of the list costs grows with its rows, so that a window keeps scrolling smooth on any
    shelf; new rows are measured a few a frame for the same reason.
    """

    view = ObjectProperty(None, allownone=True)
    boxes = ListProperty([])
    data = ListProperty([])
    search = StringProperty("")
    how_many = StringProperty("")
    nothing = StringProperty("")
    is_found = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._fetching = False
        self._first = 0
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)

    def enter(self, search: str = "", **_: Any) -> None:
        """Show the boxes that match, from the most pressing on."""
        self.search = search
        self.ask("shelf_view", search, 0, STRETCH, then=self.show)

    def show(self, view: ShelfView) -> None:
        """Show the first stretch."""
        self.view, self._first, self._fetching = view, 0, False
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
        """Fetch the next stretch, or the one before, when less than a fifth is left that way."""
        if self.view is None or self._fetching:
            return
        end = self._first + len(self.boxes)
        if scroll_y < NEAR and end < self.view.total:
            self._fetch(end, STRETCH)
        elif scroll_y > 1 - NEAR and self._first > 0:
            offset = max(0, self._first - STRETCH)
            self._fetch(offset, self._first - offset)

    def _fetch(self, offset: int, limit: int) -> None:
        self._fetching = True
        self.ask("shelf_view", self.search, offset, limit, then=self._arrived)

    def _arrived(self, view: ShelfView) -> None:
        rows: list[RowData] = []

        def measure(_: float) -> bool:
            rows.extend(self._row(box) for box in view.rows[len(rows) : len(rows) + SLICE])
            if len(rows) < len(view.rows):
                return True
            if view.search == self.search:
                self._join(view, rows)
            self._fetching = False
            return False

        Clock.schedule_interval(measure, 0)

    def _join(self, view: ShelfView, rows: list[RowData]) -> None:
        """Put a stretch at its end of the window, drop as much at the other, and keep what is seen in place."""
        seen_px = (1 - self.ids.rows.scroll_y) * self._hidden_px()
        if view.offset >= self._first + len(self.boxes):
            drop = max(0, len(self.boxes) + len(rows) - MOST)
            seen_px -= self._high_px(self.data[:drop])
            boxes, data = [*self.boxes[drop:], *view.rows], [*self.data[drop:], *rows]
            self._first += drop
        else:
            seen_px += self._high_px(rows)
            boxes, data = [*view.rows, *self.boxes][:MOST], [*rows, *self.data][:MOST]
            self._first = view.offset
        self.boxes, self.data = boxes, data
        self.ids.rows.scroll_y = min(1.0, max(0.0, 1 - seen_px / max(1.0, self._hidden_px())))

    def _high_px(self, rows: list[RowData]) -> float:
        gap = App.get_running_app().theme.gap
        return float(sum(row["row_size"][1] + gap for row in rows))

    def _hidden_px(self) -> float:
        return max(0.0, self._high_px(self.data) - self.ids.rows.height)

    def find(self) -> None:
        """Ask for a code, then show the boxes that have it."""
        self.shell.open_code(say("find"), say("find"), self._found, hint=say("find_hint"))

    def _found(self, code: str) -> None:
        self.enter(search=code)

    def scan(self) -> None:
        """Have the label on a lid photographed, then show its box."""
        self.ask("check_scanning", then=lambda _: ask_photo(self.shell, say("scan_lid"), self._scanned))

    def _scanned(self, path: str) -> None:
        self.ask("scan_label", path, then=self.open, failed=partial(self.shell.show, again=self.scan))

    def open(self, box_id: str) -> None:
        """Show one box."""
        self.shell.go("box", box_id=box_id, back_to="shelf")


load_kv(__file__)

__all__ = ["STRETCH", "ShelfScreen"]
