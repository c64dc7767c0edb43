"""More: where else one can go."""

from __future__ import annotations

from typing import Any

from kivy.properties import ListProperty, StringProperty

from boxside.core.values.keeping import KeepingView
from boxside.ui.kv import load_kv
from boxside.ui.places import ON_MORE
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import Fold  # noqa: F401  used by the kv file
from boxside.ui.widgets.sheet import ChoiceGrid  # noqa: F401  used by the kv file
from boxside.ui.words import say


class MoreScreen(Page):
    """One button for each place that is not on the bar."""

    places = ListProperty([(place.name, say(place.name), place.name) for place in ON_MORE])

    old = StringProperty("")
    hint = StringProperty(say("archive_old_hint"))

    def enter(self, **_: Any) -> None:
        """Say in a line where the last archive is older than the keeper wants."""
        self.ask("keeping_view", then=self.show)

    def show(self, view: KeepingView) -> None:
        """Show that line, or none."""
        last = say("archive_never") if view.age_days is None else say("archive_old", when=view.last)
        self.old = last if view.is_old else ""

    def go(self, name: str) -> None:
        """Show that place."""
        self.shell.go(name)


load_kv(__file__)

__all__ = ["MoreScreen"]
