"""Round: one due box after another, why it is due, and the few large buttons that its stage needs."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from boxside.core.values.views import Act, RoundView, Saved
from boxside.ui.kv import load_kv
from boxside.ui.logging_acts import Logging
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import ActRow, Fold, Headline, MainGrid, PagedText  # noqa: F401  used by the kv file
from boxside.ui.widgets.emblem import Emblem  # noqa: F401  used by the kv file
from boxside.ui.words import say

TICK_S = 0.9
TRANSFER = "transfer"


class RoundScreen(Page):
    """Shows one `RoundView`; a tap logs, Next passes the box over until the round is begun again."""

    view = ObjectProperty(None, allownone=True)
    passed = ListProperty([])
    code = StringProperty("")
    place = StringProperty("")
    headline = StringProperty("")
    who = StringProperty("")
    lines = StringProperty("")
    caution = StringProperty("")
    main = ListProperty([])
    more = ListProperty([])
    is_empty = BooleanProperty(False)
    is_late = BooleanProperty(False)
    can_restart = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._leaving: Any = None
        super().__init__(**kwargs)
        self.logging = Logging(self.shell, self.take, lambda: tuple(self.passed))

    def enter(self, box_id: str = "", **_: Any) -> None:
        """Show that box, or the most pressing one that was not passed over."""
        self.ask("round_view", tuple(self.passed), box_id, then=self.show)

    def leave(self) -> None:
        self._stay()

    def show(self, view: RoundView) -> None:
        """Show a view."""
        self._stay()
        self.view = view
        self.is_empty = not view.box_id
        self.can_restart = self.is_empty and bool(self.passed)
        self.code = view.label
        self.place = say("place_of", place=view.place, total=view.total) if view.place else ""
        self.headline, self.who = view.headline, view.who
        self.is_late = any(line.late for line in view.due[:1])
        self.lines = "\n".join([view.why, *(f"{line.label}: {line.when}" for line in view.due[1:])]).strip()
        self.caution = "\n".join(view.cautions)
        self.main, self.more = list(view.main), self._more(view)
        self.ids.texts.rewind()

    @staticmethod
    def _more(view: RoundView) -> list[Act]:
        """Return the smaller acts; a box can always be transferred."""
        if not view.box_id or any(act.kind == TRANSFER for act in view.more):
            return list(view.more)
        return [*view.more, Act(say("transfer"), "transfer", kind=TRANSFER)]

    # ---- what can be done ----

    def do_act(self, act: Act, button: Any) -> None:
        """Do what a button stands for."""
        self._stay()
        command = getattr(self, f"_do_{act.command}", None) if act.command else None
        if command is not None:
            command(act, button)
        else:
            self.logging.act(act, self.view.box_id, self.view.visit, button, self.view.label)

    def _do_next(self, _: Act, __: Any) -> None:
        self.go_on()

    def _do_look(self, act: Act, button: Any) -> None:
        items = [(sign, sign.label, sign.icon) for sign in self.view.signs]
        self.shell.open_choices(act.label, items, lambda sign: self.do_act(sign, button), say("look_hint"))

    def _do_later(self, act: Act, button: Any) -> None:
        if act.asks:
            self.logging.act(act, self.view.box_id, self.view.visit, button, self.view.label)
            return
        tasks = tuple(line.task for line in self.view.due)
        self.logging.put_off(self.view.box_id, tasks, self.view.visit, button)

    def _do_photo(self, _: Act, button: Any) -> None:
        self.shell.add_photo(self.view.box_id, self.view.visit, button, self.take)

    def show_more(self) -> None:
        """Show the acts that did not find room in the row."""
        items = [(act, act.label, act.icon) for act in self.more]
        self.shell.open_choices(self.view.label, items, lambda act: self.do_act(act, None))

    def take(self, saved: Saved) -> None:
        """Show the box as it now is; where all of it is done, go on after the tick was seen."""
        view = saved.view
        if view is None or self.view is None or not self.is_on():
            return
        if view.box_id != self.view.box_id and not saved.box_done:
            self.show(view)
            return
        if view.box_id == self.view.box_id:
            self.show(view)
        if saved.box_done:
            self.ids.grid.tick()
            self._leaving = Clock.schedule_once(lambda _: self.go_on(is_done=True), TICK_S)

    def is_on(self) -> bool:
        """Whether this is the screen that shows."""
        return self.shell.page is self

    def go_on(self, is_done: bool = False) -> None:
        """Pass this box over and show the next."""
        self._stay()
        if self.view is not None and self.view.box_id and not is_done:
            self.passed = [*self.passed, self.view.box_id]
        self.ask("round_view", tuple(self.passed), "", then=self.show)

    def restart(self) -> None:
        """Begin the round again with the boxes that were passed over."""
        self.passed = []
        self.enter()

    def open_box(self) -> None:
        """Show all there is about this box."""
        self.shell.go("box", box_id=self.view.box_id, back_to="round")

    def _stay(self) -> None:
        if self._leaving is not None:
            self._leaving.cancel()
            self._leaving = None


load_kv(__file__)

__all__ = ["TICK_S", "RoundScreen"]
