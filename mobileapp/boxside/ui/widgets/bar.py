"""The bottom bar: where to go, or for ten seconds what was just logged and its undo."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.ui.kv import load_kv
from boxside.ui.places import ON_BAR
from boxside.ui.widgets.button import SmallButton
from boxside.ui.widgets.fitting import fits, text_size
from boxside.ui.widgets.text import LEAST_SP
from boxside.ui.words import say

UNDO_S = 10.0
WORDS_S = 4.0


class Tab(SmallButton):
    """One place to go to."""

    place = StringProperty("")
    least = NumericProperty(0)


class Tabs(BoxLayout):
    """The places, each as wide as its name needs, the rest shared out evenly."""

    here = StringProperty("")
    edge = NumericProperty(0)
    target = NumericProperty(0)
    __events__ = ("on_place",)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        for place in ON_BAR:
            tab = Tab(place=place.name, text=say(place.name), icon=place.name)
            tab.bind(on_act=self._go)
            self.add_widget(tab)
        self.fbind("width", self._share)
        self.fbind("here", self._share)

    def _go(self, tab: Tab) -> None:
        self.dispatch("on_place", tab.place)

    def _share(self, *_: Any) -> None:
        """Give each tab the room of its word; where large type has no room for all, only the place that shows."""
        tabs = self.children
        gaps = self.spacing * (len(tabs) - 1)
        words = {tab: text_size(say(tab.place), "BoxsideStrong", tab.least)[0] for tab in tabs}
        is_tight = sum(words.values()) + gaps > self.width - 2 * self.edge
        self.padding = [0 if is_tight else self.edge, 0]
        room = self.width - 2 * self.padding[0] - gaps
        named = {tab for tab in tabs if not is_tight or tab.place == self.here}
        needs = {tab: max(self.target, words[tab] if tab in named else 0.0) for tab in tabs}
        spare = max(0.0, room - sum(needs.values())) / max(1, len(tabs))
        for tab, need in needs.items():
            tab.text = say(tab.place) if tab in named else ""
            tab.tone = "plain" if tab.place == self.here else "quiet"
            tab.width = need + spare

    def on_place(self, place: str) -> None:
        """Default handler: nothing."""


class Toast(BoxLayout):
    """What was logged, its undo, and a way to put it away."""

    text = StringProperty("")
    undo = ObjectProperty(None, allownone=True)
    taken = NumericProperty(0)
    __events__ = ("on_away",)

    def has_room(self, text: str) -> bool:
        """Whether a text can be set beside the sign and the way to put it away."""
        width = self.width - self.padding[0] - self.padding[2] - 3 * self.spacing - self.taken
        return fits(text, "BoxsideStrong", (float(int(width)), float(int(self.height))), sp(LEAST_SP))

    def take_back(self) -> None:
        """Undo, once, and go away."""
        undo, self.undo = self.undo, None
        self.dispatch("on_away")
        if undo is not None:
            undo()

    def on_away(self) -> None:
        """Default handler: nothing."""


class Bar(BoxLayout):
    """Shows the tabs, or a toast in their place, so that nothing else moves or is covered."""

    here = StringProperty("")
    is_toast = BooleanProperty(False)
    toast_text = StringProperty("")
    __events__ = ("on_place",)

    def __init__(self, **kwargs: Any) -> None:
        self._timer: Any = None
        super().__init__(**kwargs)

    def on_kv_post(self, _: Any) -> None:
        # Held here, since `ids` holds weakly and only one of the two is in the tree.
        self._tabs, self._toast = self.ids.tabs.__self__, self.ids.toast.__self__
        self._show(self._tabs)

    def _show(self, part: Any) -> None:
        self.ids.slot.clear_widgets()
        self.ids.slot.add_widget(part)
        self.is_toast = part is self._toast

    def has_room(self, text: str) -> bool:
        """Whether a text without an undo can be set in the bar without cutting a word."""
        if self._toast.parent is None:
            # Only what shows is laid out; a toast has the room of the tabs.
            self._toast.size = self.ids.slot.size
        return self._toast.has_room(text)

    def say(self, text: str, undo: Callable[[], None] | None) -> None:
        """Show a toast, for ten seconds with an undo, for four without; a newer one takes its place."""
        self._toast.undo, self._toast.text, self.toast_text = undo, text, text
        self._show(self._toast)
        if self._timer is not None:
            self._timer.cancel()
        self._timer = Clock.schedule_once(self.hush, WORDS_S if undo is None else UNDO_S)

    def hush(self, *_: Any) -> None:
        """Put the toast away."""
        if self._timer is not None:
            self._timer.cancel()
        self._timer = None
        self._toast.undo = None
        self._show(self._tabs)

    def on_place(self, place: str) -> None:
        """Default handler: nothing."""


load_kv(__file__)

__all__ = ["UNDO_S", "Bar", "Tab", "Tabs", "Toast"]
