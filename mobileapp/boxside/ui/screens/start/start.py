"""Start: what to begin with, asked once."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import NumericProperty

from boxside.core.values.views import StartView
from boxside.ui.archives import Archives
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import PagedText  # noqa: F401  used by the kv file
from boxside.ui.widgets.button import BigButton  # noqa: F401  used by the kv file
from boxside.ui.widgets.emblem import Emblem  # noqa: F401  used by the kv file

LEAST_DP, MOST_DP = 64, 200


class StartScreen(Page):
    """Offers an invented colony, an empty shelf, to enter a shelf that is full already, or to restore an archive."""

    emblem_height = NumericProperty(0)

    def __init__(self, **kwargs: Any) -> None:
        self._refit = Clock.create_trigger(self._fit)
        super().__init__(**kwargs)
        self.fbind("size", self._refit)
        self.ids.text.column.fbind("height", self._refit)
        self.ids.ways.fbind("height", self._refit)

    def _fit(self, *_: Any) -> None:
        """Give the emblem what room the words leave; they come first."""
        gap = App.get_running_app().theme.gap
        used = self.padding[1] + self.padding[3] + self.ids.ways.height + self.ids.text.column.height + 2 * gap
        spare = self.height - used
        self.emblem_height = min(dp(MOST_DP), spare) if spare >= dp(LEAST_DP) else -gap

    def begin_demo(self) -> None:
        """Begin with the invented colony."""
        self.ask("begin_demo", then=lambda view: self._go(view, "round"))

    def begin_empty(self) -> None:
        """Begin with nothing, and add the first box."""
        self.ask("begin_empty", then=lambda view: self._go(view, "shelf"))

    def begin_occupied(self) -> None:
        """Begin with the boxes that stand there."""
        self.ask("begin_empty", then=lambda view: self._go(view, "occupied"))

    def restore(self) -> None:
        """Begin with all that an archive holds."""
        Archives(self.shell, _nothing).restore()

    def _go(self, view: StartView, screen: str) -> None:
        self.shell.services.device.haptics.confirm()
        self.shell.go(screen)
        self.shell.tell(view.notice)


def _nothing() -> None:
    """The start shows nothing that an archive could change."""


load_kv(__file__)

__all__ = ["StartScreen"]
