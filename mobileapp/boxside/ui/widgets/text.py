"""Texts: one that grows with its lines, one that is set as large as its room allows, an icon."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.label import Label

from boxside.ui.icons import glyph
from boxside.ui.kv import load_kv
from boxside.ui.widgets.fitting import fitting_size

LEAST_SP = 16


class Words(Label):
    """A text over the full width that is as high as its lines."""


class Strong(Words):
    """The same, for what carries the weight."""


class Fitted(Label):
    """A text in a box of given size, set between `most` and 16 sp so that no word is cut."""

    most = NumericProperty(24)

    def __init__(self, **kwargs: Any) -> None:
        self._refit = Clock.create_trigger(self._fit, -1)
        super().__init__(**kwargs)
        self.fbind("size", self._refit)
        self.fbind("text", self._refit)
        self.fbind("most", self._refit)

    def _fit(self, *_: Any) -> None:
        box = (float(int(self.width)), float(int(self.height)))
        self.font_size = fitting_size(self.text, self.font_name, box, self.most, min(self.most, sp(LEAST_SP)))
        self.text_size = box


class Icon(Label):
    """One glyph of the bundled icon font, by our name for it."""

    name = StringProperty("")

    def on_name(self, _: Any, name: str) -> None:
        self.text = glyph(name) if name else ""


load_kv(__file__)

__all__ = ["LEAST_SP", "Fitted", "Icon", "Strong", "Words"]
