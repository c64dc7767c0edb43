"""More: where else one can go."""

from __future__ import annotations

from kivy.properties import ListProperty

from boxside.ui.kv import load_kv
from boxside.ui.places import ON_MORE
from boxside.ui.shell import Page
from boxside.ui.widgets.sheet import ChoiceGrid  # noqa: F401  used by the kv file
from boxside.ui.words import say


class MoreScreen(Page):
    """One button for each place that is not on the bar."""

    places = ListProperty([(place.name, say(place.name), place.name) for place in ON_MORE])

    def go(self, name: str) -> None:
        """Show that place."""
        self.shell.go(name)


load_kv(__file__)

__all__ = ["MoreScreen"]
