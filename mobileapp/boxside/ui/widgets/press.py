"""What every target has in common: press by touch, by keyboard, a visible focus."""

from __future__ import annotations

from typing import Any

from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty
from kivy.uix.widget import Widget

from boxside.ui.widgets.contacts import DEBOUNCE_S, MARGIN_DP, contacts


class Press(Widget):
    """Dispatches `on_act` once for each press; see `contacts` for what a press is."""

    __events__ = ("on_act",)

    pressed = BooleanProperty(False)
    focused = BooleanProperty(False)
    debounce = NumericProperty(DEBOUNCE_S)

    def __init__(self, **kwargs: Any) -> None:
        self.acted_at = float("-inf")
        super().__init__(**kwargs)
        contacts.targets.add(self)

    def on_touch_down(self, touch: Any) -> bool:
        if touch.grab_current is None and contacts.claim(self, touch, dp(MARGIN_DP)):
            touch.grab(self)
            self.pressed = True
            return True
        return False

    def on_touch_move(self, touch: Any) -> bool:
        return touch.grab_current is self

    def on_touch_up(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return False
        touch.ungrab(self)
        self.pressed = False
        if contacts.release(self, touch, dp(MARGIN_DP)):
            self.dispatch("on_act")
        return True

    def press_by_key(self) -> None:
        """Act as if pressed, for Enter and Space on the focused target."""
        if not self.disabled and contacts.settle(self):
            self.dispatch("on_act")

    def on_act(self) -> None:
        """Default handler: nothing."""


__all__ = ["Press"]
