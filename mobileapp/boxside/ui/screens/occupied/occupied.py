"""Enter the boxes that stand on the shelf already: the next like the last with one tap."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from boxside.core.values.views import NewBox, NewBoxView, Notice, Saved
from boxside.ui.entering import Entering, next_code, summary
from boxside.ui.keeping import not_saved
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import PagedText  # noqa: F401  used by the kv file
from boxside.ui.words import say, say_n


class OccupiedScreen(Page):
    """Gathers `NewBox`es, then has all of them added in one go."""

    view = ObjectProperty(None, allownone=True)
    boxes = ListProperty([])
    code = StringProperty("")
    before = StringProperty("")
    how_many = StringProperty("")
    entered = StringProperty("")
    has_any = BooleanProperty(False)

    def enter(self, back_to: str = "shelf", **_: Any) -> None:
        """Start with the next free code."""
        self.back_to = back_to
        self.boxes = []
        self.ask("new_box_view", then=self.show)

    def show(self, view: NewBoxView) -> None:
        """Show where the entering begins."""
        self.view = view
        self.code = view.next_label
        self._tell()

    def _tell(self) -> None:
        self.has_any = bool(self.boxes)
        self.how_many = say_n("boxes_so_far", len(self.boxes))
        self.before = summary(self.boxes[-1], self.view) if self.boxes else ""
        self.entered = "\n".join(f"{box.label}  {summary(box, self.view)}" for box in reversed(self.boxes))

    def same(self) -> None:
        """Enter a box like the last."""
        if self.boxes:
            self.take(replace(self.boxes[-1], label=self.code))

    def describe(self) -> None:
        """Ask what lives in the next box."""
        last = self.boxes[-1] if self.boxes else NewBox(self.code, stage="larva")
        Entering(self.shell, self.view).ask_all(replace(last, label=self.code), self.take)

    def rename(self) -> None:
        """Ask for the next box's code."""
        Entering(self.shell, self.view).ask_label(NewBox(self.code), self._renamed)

    def _renamed(self, new: NewBox) -> None:
        self.code = new.label

    def take(self, new: NewBox) -> None:
        """Put a box on the list, and go on with the next code."""
        self.boxes = [*self.boxes, new]
        self.code = next_code(new.label)
        self._tell()

    def drop(self) -> None:
        """Take the last box off the list again."""
        if self.boxes:
            self.code = self.boxes[-1].label
            self.boxes = self.boxes[:-1]
            self._tell()

    def save(self) -> None:
        """Add all of them in one go; the list stays if that fails."""
        if self.boxes:
            self.ask("add_boxes", tuple(self.boxes), then=self._saved, failed=self._failed)

    def _saved(self, saved: Saved) -> None:
        self.shell.services.device.haptics.confirm()
        n, self.boxes = len(self.boxes), []
        self.shell.go("round")
        self.shell.tell(saved.notice)
        undo = saved.undo
        again = None if undo is None else lambda: self.shell.undo(undo, lambda _: self.shell.go("round"))
        self.shell.bar.say(say("boxes_added", n=n), again)

    def _failed(self, notice: Notice) -> None:
        self.shell.services.device.haptics.reject()
        self.shell.show(not_saved(notice), self.save, say("giving_up"))


load_kv(__file__)

__all__ = ["OccupiedScreen"]
