"""Start: what to begin with, asked once."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import StringProperty

from boxside.core.values.views import StartView
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import PagedText  # noqa: F401  used by the kv file
from boxside.ui.widgets.button import LineButton
from boxside.ui.widgets.emblem import Emblem  # noqa: F401  used by the kv file
from boxside.ui.widgets.fitting import text_size


class StartScreen(Page):
    """Offers an invented colony, an empty shelf, or to enter a shelf that is full already."""

    def begin_demo(self) -> None:
        """Begin with the invented colony."""
        self.ask("begin_demo", then=lambda view: self._go(view, "round"))

    def begin_empty(self) -> None:
        """Begin with nothing, and add the first box."""
        self.ask("begin_empty", then=lambda view: self._go(view, "shelf"))

    def begin_occupied(self) -> None:
        """Begin with the boxes that stand there."""
        self.ask("begin_empty", then=lambda view: self._go(view, "occupied"))

    def _go(self, view: StartView, screen: str) -> None:
        self.shell.services.device.haptics.confirm()
        self.shell.go(screen)
        self.shell.tell(view.notice)


class StartChoice(LineButton):
    """One way to begin; `why` shows below its name where there is room."""

    why = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        self._refit = Clock.create_trigger(self._fit, -1)
        super().__init__(**kwargs)
        self.fbind("size", self._refit)
        self.fbind("why", self._refit)

    def _fit(self, *_: Any) -> None:
        theme = App.get_running_app().theme
        room = float(int(self.width - 2 * self.padding[0] - theme.icon - theme.gap))
        high = text_size(self.text, theme.font_strong, self.most, room)[1]
        high += text_size(self.why, theme.font, theme.text, room)[1] * 1.15
        self.detail = self.why if high < theme.target_main - theme.gap else ""


load_kv(__file__)

__all__ = ["StartChoice", "StartScreen"]
