"""Add a box: its code is free already, three questions, then save; every part can be changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.core.values.views import NewBox, NewBoxView, Notice, Saved
from boxside.ui.entering import FEEDS, Entering, named, said_fed
from boxside.ui.keeping import not_saved
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.sheet import ChoiceGrid  # noqa: F401  used by the kv file
from boxside.ui.words import say

PARTS = (
    ("label", "code", "box"), ("stage", "stage_short", "stage"), ("n", "number", "count"),
    ("instar", "instar", "moult"), ("fed", "fed", "feed"), ("cohort", "cohort", "cohort"), ("area", "area", "area"),
)  # fmt: skip


class AddBoxScreen(Page):
    """Shows one `NewBox` as it is being made."""

    new = ObjectProperty(None, allownone=True)
    view = ObjectProperty(None, allownone=True)
    parts = ListProperty([])
    back_to = StringProperty("shelf")

    def enter(self, **_: Any) -> None:
        """Start with the next free code, and ask the first questions at once."""
        self.new, self.parts = None, []
        self.ask("new_box_view", then=self.show)

    def show(self, view: NewBoxView) -> None:
        """Show the form, and ask what lives in the box."""
        self.view = view
        self.take(NewBox(view.next_label))
        Entering(self.shell, view).ask_all(self.new, self.take)

    def take(self, new: NewBox) -> None:
        """Show the box as it is so far."""
        self.new = new
        values = self._values()
        idle = () if new.stage == FEEDS else ("instar", "fed") if new.stage else ("n", "instar", "fed", "cohort")
        self.parts = [(part, f"{say(words)}: {values[part]}", icon) for part, words, icon in PARTS if part not in idle]

    def _values(self) -> dict[str, str]:
        new, view = self.new, self.view
        return {
            "label": new.label,
            "stage": named(view.stages, new.stage) or say("nothing_stage"),
            "n": say("fed_unknown") if new.n is None else str(new.n),
            "instar": say("fed_unknown") if new.instar is None else str(new.instar),
            "fed": said_fed(new),
            "cohort": named(view.cohorts, new.cohort_id) or say("cohort_new"),
            "area": named(view.areas, new.area_id) or say("none"),
        }

    def change(self, part: str) -> None:
        """Ask for one part again."""
        getattr(Entering(self.shell, self.view), f"ask_{part}")(self.new, self.take)

    def save(self) -> None:
        """Add the box; what was entered stays if that fails."""
        if self.new is not None:
            self.ask("add_box", replace(self.new), then=self._saved, failed=self._failed)

    def _saved(self, saved: Saved) -> None:
        self.shell.go("shelf")
        self.shell.saved(saved, lambda _: self.shell.go("shelf"))

    def _failed(self, notice: Notice) -> None:
        self.shell.services.device.haptics.reject()
        self.shell.show(not_saved(notice), self.save, say("giving_up"))


load_kv(__file__)

__all__ = ["AddBoxScreen"]
