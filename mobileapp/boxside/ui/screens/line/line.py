"""Line: who descends from whom as a drawing; a tap tells a cohort's numbers; the whole line in numbers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.clock import Clock
from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.core.values.line_view import LineNode, LineView
from boxside.core.values.views import Act
from boxside.ui.kv import load_kv
from boxside.ui.screens.line.line_rows import cohort_rows, line_rows, row_of, summary
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import ActRow, Fold  # noqa: F401  used by the kv file
from boxside.ui.widgets.line_drawing import LineDrawing, Pane, Panner  # noqa: F401  used by the kv file
from boxside.ui.widgets.reading import read
from boxside.ui.words import say


class LineScreen(Page):
    """Shows one `LineView`."""

    view = ObjectProperty(None, allownone=True)
    summary = StringProperty("")
    nothing = StringProperty("")
    ways = ListProperty([])
    back_to = StringProperty("more")

    def enter(self, **_: Any) -> None:
        """Show the line as it is, from the founders on."""
        self.ask("line_view", then=self.show)

    def show(self, view: LineView) -> None:
        """Show a view; founders first, in the middle."""
        is_first = self.view is None
        self.view, self.nothing = view, view.empty
        self.summary = summary(view)
        self.ways = ways_of(view)
        if is_first:
            Clock.schedule_once(self._to_the_founders, 0)

    def _to_the_founders(self, *_: Any) -> None:
        self.ids.pane.scroll_y, self.ids.pane.scroll_x = 1, 0.5

    def tell(self, node: LineNode) -> None:
        """Tell a cohort's numbers."""
        cohort = row_of(self.view, node.id)
        if cohort is not None:
            read(self.shell, cohort.name, lambda width: cohort_rows(width, cohort, self.view))

    def go_way(self, act: Act) -> None:
        """Show numbers or the list of cohorts, or go on to pairings or founders."""
        ways: dict[str, Callable[[], None]] = {
            "numbers": self.tell_numbers,
            "cohorts": self.choose_cohort,
            "pairings": lambda: self.shell.go("pairings", back_to="line"),
            "founders": lambda: self.shell.go("founders"),
        }
        ways[act.command]()

    def choose_way(self) -> None:
        """Ask for one of the ways that there was no room for."""
        self.shell.open_choices(say("line"), [(act, act.label, act.icon) for act in self.ways], self.go_way)

    def tell_numbers(self) -> None:
        """Tell the numbers of the whole line, and how it would go on."""
        view = self.view
        read(self.shell, say("numbers"), lambda width: line_rows(width, view))

    def choose_cohort(self) -> None:
        """Ask for a cohort by its name, instead of by its place in the drawing."""
        nodes = [node for node in self.view.nodes if not node.unknown] if self.view is not None else []
        items = [(node, f"{node.name}: {node.detail}", "cohort") for node in nodes]
        hint = "" if items else self.nothing
        self.shell.open_choices(say("cohorts"), items, self.tell, hint)


def ways_of(view: LineView) -> list[Act]:
    """Return where one can go from the line: of an empty one only to founders, with which it begins."""
    ways = [
        Act(say("numbers"), "count", command="numbers"), Act(say("pairings"), "pairings", command="pairings"),
        Act(say("cohorts"), "list", command="cohorts"), Act(say("founders"), "add", command="founders"),
    ]  # fmt: skip
    return ways if view.nodes else ways[-1:]


load_kv(__file__)

__all__ = ["LineScreen", "ways_of"]
