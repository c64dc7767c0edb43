"""Scrolling that also works without a swipe: two buttons turn the page, and quick taps arrive at once."""

from __future__ import annotations

from typing import Any

from kivy.animation import Animation
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ObjectProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.recycleboxlayout import RecycleBoxLayout  # noqa: F401  used by the kv file
from kivy.uix.recycleview import RecycleView
from kivy.uix.scrollview import ScrollView

from boxside.ui.kv import load_kv


class QuickTaps:
    """Mixed into a scroll view: a tap is passed on when the finger lifts, not 0.2 s later."""

    def on_scroll_stop(self, touch: Any, check_children: bool = True) -> Any:
        taken = super().on_scroll_stop(touch, check_children)  # type: ignore[misc]
        ours = touch.ud.get(self._get_uid())  # type: ignore[attr-defined]
        if ours and ours["mode"] == "unknown" and not ours["user_stopped"]:
            self._do_touch_up(touch)  # type: ignore[attr-defined]
        return taken

    def on_bar_inactive_color(self, _: Any, colour: Any) -> None:
        """Recolour the bar at once; Kivy does so only with the next scrolling, and red must be red now.

        Half a second after scrolling Kivy fades the bar to the colour it had then, so that ends too.
        """
        Animation.cancel_all(self, "_bar_color")
        self._bar_color = colour


class Scroll(QuickTaps, ScrollView):
    """A vertical scroll view."""


class RowsView(QuickTaps, RecycleView):
    """A recycled list; rows carry their own height in `size`."""


class Turner(BoxLayout):
    """The two buttons that turn the pages of a scroll view; they take no room while all of it shows."""

    scroll = ObjectProperty(None, allownone=True)
    is_needed = BooleanProperty(False)
    can_up = BooleanProperty(False)
    can_down = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._check = Clock.create_trigger(self._look)
        super().__init__(**kwargs)

    def on_scroll(self, _: Any, scroll: Any) -> None:
        if scroll is None:
            return
        for name in ("scroll_y", "size", "viewport_size"):
            scroll.fbind(name, self._check)
        self._check()

    def _content_height(self) -> float:
        return float(self.scroll.viewport_size[1]) if self.scroll.children else 0.0

    def _look(self, *_: Any) -> None:
        hidden = self._content_height() - self.scroll.height
        self.is_needed = hidden > 1
        if not self.is_needed:
            self.scroll.scroll_y = 1
        self.can_up = self.is_needed and self.scroll.scroll_y < 0.999
        self.can_down = self.is_needed and self.scroll.scroll_y > 0.001

    def turn(self, pages: int) -> None:
        """Move by nine tenths of what is seen, down for a positive number."""
        hidden = self._content_height() - self.scroll.height
        if hidden > 0:
            share = pages * 0.9 * self.scroll.height / hidden
            self.scroll.scroll_y = min(1.0, max(0.0, self.scroll.scroll_y - share))


load_kv(__file__)

__all__ = ["QuickTaps", "RowsView", "Scroll", "Turner"]
