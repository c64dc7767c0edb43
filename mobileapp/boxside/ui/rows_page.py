"""A page that is one list of rows made from one view: fetched when it is entered, laid out again when it is resized."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.ui.shell import Page


class RowsPage(Page):
    """Shows one view as rows; a screen says in `refresh` what it asks for, and in `rows` what it shows."""

    view = ObjectProperty(None, allownone=True)
    data = ListProperty([])
    back_to = StringProperty("more")

    def __init__(self, **kwargs: Any) -> None:
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)

    def enter(self, **_: Any) -> None:
        """Show what there is from its top."""
        self.ids.rows.scroll_y = 1
        self.refresh()

    def refresh(self, *_: Any) -> None:
        """Fetch what is shown anew."""
        raise NotImplementedError

    def rows(self) -> list[Any]:
        """Return the rows of the view, as wide as the list is now."""
        raise NotImplementedError

    def show(self, view: Any) -> None:
        """Show a view."""
        self.view = view
        self._lay()

    def on_size(self, *_: Any) -> None:
        self._remeasure()

    def _lay(self, *_: Any) -> None:
        if self.view is not None:
            self.data = self.rows()


__all__ = ["RowsPage"]
