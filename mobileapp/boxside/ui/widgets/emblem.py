"""The emblem: a box with a light in it, drawn in the colours of the theme."""

from __future__ import annotations

from kivy.properties import NumericProperty
from kivy.uix.widget import Widget

from boxside.ui.kv import load_kv


class Emblem(Widget):
    """Fills its room with the emblem at the centre; hides where there is less than 64 dp."""

    side = NumericProperty(0)


load_kv(__file__)

__all__ = ["Emblem"]
