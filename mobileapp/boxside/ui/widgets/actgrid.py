"""The buttons of acts: up to four large ones, and a row of smaller ones that shows as many as fit."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from boxside.core.values.views import Act
from boxside.ui.kv import load_kv
from boxside.ui.widgets.button import BigButton, IconButton, SmallButton
from boxside.ui.widgets.fitting import text_size
from boxside.ui.widgets.pages import Scroll
from boxside.ui.widgets.text import LEAST_SP
from boxside.ui.words import say

FONT = "BoxsideStrong"


class MainGrid(GridLayout):
    """At most four main acts, two by two; the first is the one that is due, and stands out."""

    acts = ListProperty([])
    __events__ = ("on_pick",)

    def on_acts(self, *_: Any) -> None:
        while len(self.children) > len(self.acts):
            self.remove_widget(self.children[0])
        while len(self.children) < len(self.acts):
            button = BigButton()
            button.bind(on_act=self._pick)
            self.add_widget(button)
        for at, (button, act) in enumerate(zip(reversed(self.children), self.acts, strict=True)):
            button.act, button.text, button.icon = act, act.label, act.icon
            button.state = "done" if act.done else ""
            button.tone = "strong" if at == 0 else "plain"

    def _pick(self, button: Any) -> None:
        self.dispatch("on_pick", button.act, button)

    def tick(self) -> None:
        """Show the tick on the first button, where no other shows one."""
        if self.children and not any(button.state == "done" for button in self.children):
            self.children[-1].state = "done"

    def on_pick(self, act: Act, button: Any) -> None:
        """Default handler: nothing."""


class ActRow(BoxLayout):
    """As many acts as fit beside each other at 16 sp, and a button for the rest."""

    acts = ListProperty([])
    spare = NumericProperty(0)
    __events__ = ("on_pick", "on_rest")

    def __init__(self, **kwargs: Any) -> None:
        self._lay = Clock.create_trigger(self._build, -1)
        super().__init__(**kwargs)
        self.fbind("acts", self._lay)
        self.fbind("width", self._lay)

    def _need(self, label: str) -> float:
        return max(self.least, text_size(label, FONT, sp(LEAST_SP))[0] + self.spacing)

    def _fitting(self) -> int:
        """How many of the first acts fit; without a button for the rest only if all do."""
        needs = [self._need(act.label) for act in self.acts]
        if sum(needs) + self.spacing * (len(needs) - 1) <= self.width:
            return len(needs)
        used, n = self._need(say("everything")), 0
        for need in needs:
            used += need + self.spacing
            if used > self.width:
                return n
            n += 1
        return n

    def _build(self, *_: Any) -> None:
        self.clear_widgets()
        if self.width < 2 or not self.acts:
            return
        n = self._fitting()
        for act in self.acts[:n]:
            self._add(act.label, act.icon, act, "done" if act.done else "")
        if n < len(self.acts):
            self._add(say("everything"), "more", None, "")

    def _add(self, label: str, icon: str, act: Act | None, state: str) -> None:
        button = SmallButton()
        button.text, button.icon, button.state = label, icon, state
        button.size_hint_x = self._need(label)
        button.act = act
        button.bind(on_act=self._pick)
        self.add_widget(button)

    def _pick(self, button: Any) -> None:
        if button.act is None:
            self.dispatch("on_rest")
        else:
            self.dispatch("on_pick", button.act, button)

    def on_pick(self, act: Act, button: Any) -> None:
        """Default handler: nothing."""

    def on_rest(self) -> None:
        """Default handler: nothing."""


class PagedText(BoxLayout):
    """Text that may be longer than its room: a button turns it on where it is, and only then shows."""

    def __init__(self, **kwargs: Any) -> None:
        self._look = Clock.create_trigger(self._check)
        self.scroll: Any = None
        super().__init__(**kwargs)
        self.scroll, self.column, self.turner = Scroll(), TextColumn(), IconButton(icon="down", tone="quiet")
        self.turner.text = say("page_down")
        self.turner.pos_hint = {"top": 1}
        self.turner.bind(on_act=self._turn)
        self.scroll.add_widget(self.column)
        super().add_widget(self.scroll)
        for name in ("size", "viewport_size", "scroll_y"):
            self.scroll.fbind(name, self._look)

    def add_widget(self, widget: Any, *args: Any, **kwargs: Any) -> None:
        """Add a text to the column."""
        self.column.add_widget(widget, *args, **kwargs)

    def _check(self, *_: Any) -> None:
        is_long = self.column.height > self.height + 1
        if is_long and self.turner.parent is None:
            super().add_widget(self.turner)
        elif not is_long and self.turner.parent is not None:
            self.remove_widget(self.turner)
            self.scroll.scroll_y = 1
        self.turner.icon = "up" if is_long and self.scroll.scroll_y < 0.01 else "down"

    def _turn(self, *_: Any) -> None:
        self.turn()

    def turn(self) -> None:
        """Show what comes next, after the end the beginning."""
        hidden = self.column.height - self.height
        if hidden <= 0 or self.scroll.scroll_y < 0.01:
            self.scroll.scroll_y = 1
        else:
            self.scroll.scroll_y = max(0.0, self.scroll.scroll_y - 0.85 * self.height / hidden)

    def rewind(self) -> None:
        """Show the beginning."""
        self.scroll.scroll_y = 1


class TextColumn(BoxLayout):
    """Texts under each other, as high as they are."""


class Headline(BoxLayout):
    """What is due, with a sign before it once it is late."""

    text = StringProperty("")
    is_late = BooleanProperty(False)


class Fold(BoxLayout):
    """Takes room only while it is open; what is in it is out of reach while it is not."""

    is_open = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._kept: list[Any] | None = None
        super().__init__(**kwargs)

    def on_kv_post(self, _: Any) -> None:
        self._kept = list(reversed(self.children))
        self._fold()

    def on_is_open(self, *_: Any) -> None:
        self._fold()

    def _fold(self) -> None:
        if self._kept is None:
            return
        self.clear_widgets()
        for widget in self._kept if self.is_open else ():
            self.add_widget(widget)


load_kv(__file__)

__all__ = ["ActRow", "Fold", "Headline", "MainGrid", "PagedText"]
