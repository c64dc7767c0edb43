"""A number set by two large buttons."""

from __future__ import annotations

from typing import Any

from kivy.properties import NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.ui.kv import load_kv


def shown_number(value: float) -> str:
    """Return a number without a needless fraction."""
    return str(int(value)) if float(value).is_integer() else f"{value:g}"


class Stepper(BoxLayout):
    """Less, the number, more; stops at its limits."""

    value = NumericProperty(1)
    minimum = NumericProperty(0)
    maximum = NumericProperty(9999)
    step = NumericProperty(1)
    unit = StringProperty("")
    shown = StringProperty("1")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.fbind("value", self._show)
        self.fbind("unit", self._show)
        self._show()

    def _show(self, *_: Any) -> None:
        self.shown = f"{shown_number(self.value)} {self.unit}".strip()

    def change(self, steps: int) -> None:
        """Move by that many steps."""
        self.value = min(self.maximum, max(self.minimum, round(self.value + steps * self.step, 6)))


load_kv(__file__)

__all__ = ["Stepper", "shown_number"]
