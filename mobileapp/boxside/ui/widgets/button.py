"""Buttons: a large one that shows how its saving goes, a plain one, and one for a whole row."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.boxlayout import BoxLayout

from boxside.ui.kv import load_kv
from boxside.ui.widgets.fitting import fits
from boxside.ui.widgets.press import Press
from boxside.ui.widgets.text import LEAST_SP

STRONG = "BoxsideStrong"
STATE_ICON = {"pending": "pending", "done": "check", "failed": "late"}


class Pressable(Press, BoxLayout):
    """A target with an icon and a label; `state` tells how its saving goes, by sign and not by colour."""

    text = StringProperty("")
    icon = StringProperty("")
    state = OptionProperty("", options=["", "pending", "done", "failed"])
    tone = OptionProperty("plain", options=["plain", "strong", "quiet"])
    most = NumericProperty(0)
    shown_icon = StringProperty("")
    has_icon = BooleanProperty(True)
    icon_height = NumericProperty(0)
    fill = ColorProperty((0, 0, 0, 0))
    fill_pressed = ColorProperty((0, 0, 0, 0))
    ink = ColorProperty((1, 1, 1, 1))
    chosen = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.fbind("icon", self._show_icon)
        self.fbind("state", self._show_icon)
        self.fbind("chosen", self._show_icon)
        self._refit = Clock.create_trigger(self._fit_icon, -1)
        for name in ("size", "text", "state", "shown_icon"):
            self.fbind(name, self._refit)
        self._show_icon()

    def _fit_icon(self, *_: Any) -> None:
        """Leave the icon out where large type needs its room; the state of saving always shows."""
        left, bottom, right, top = self.padding
        room = (float(int(self.width - left - right)), float(int(self.height - bottom - top - self.icon_height)))
        needs = bool(self.text) and not self.state and not fits(self.text, STRONG, room, sp(LEAST_SP))
        self.has_icon = bool(self.shown_icon) and not needs

    def _show_icon(self, *_: Any) -> None:
        given = STATE_ICON.get(self.state) or self.icon
        self.shown_icon = "check" if self.chosen and not self.state else given


class BigButton(Pressable):
    """A main action: icon above the label, at least 126 dp high and wide."""


class SmallButton(Pressable):
    """A further action: at least 64 dp; icon above the label."""


class LineButton(Pressable):
    """A target over the full width: icon, label at its side."""

    detail = StringProperty("")
    trail = StringProperty("")
    least = NumericProperty(0)


class IconButton(Pressable):
    """A square target with an icon; `text` names it for the keyboard and the tests."""


load_kv(__file__)

__all__ = ["BigButton", "IconButton", "LineButton", "Pressable", "SmallButton"]
