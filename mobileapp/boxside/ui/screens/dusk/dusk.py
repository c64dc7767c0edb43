"""Dusk: which females glow, who is with whom, what to bring together; red on black whatever the theme."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from boxside.core.values.dusk import DuskRow, DuskView
from boxside.core.values.event import Draft
from boxside.core.values.views import Act, Saved
from boxside.ui.keeping import Keeping
from boxside.ui.kv import load_kv
from boxside.ui.screens.dusk.asking_place import ask_place
from boxside.ui.screens.dusk.evening_rows import airy, evening_rows, facts_of, glow_act
from boxside.ui.screens.dusk.laying import lay
from boxside.ui.screens.dusk.mating import bring, bring_to, males_for, part
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import PagedText  # noqa: F401  used by the kv file
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import rows_width
from boxside.ui.words import say

MINUTE_S = 60.0
MOST_GLOWING = 10000


class DuskScreen(Page):
    """Shows one `DuskView`: the boxes of the evening, or one of them with all that can be done there.

    While it shows, the theme is red and the screen stays on; both go back to the keeper's choice when it is left.
    """

    view = ObjectProperty(None, allownone=True)
    row = ObjectProperty(None, allownone=True)
    is_list = BooleanProperty(True)
    title = StringProperty("")
    headline = StringProperty("")
    is_alone = BooleanProperty(False)
    facts = ListProperty([])
    acts = ListProperty([])
    data = ListProperty([])
    back_to = StringProperty("more")

    def __init__(self, **kwargs: Any) -> None:
        self._theme_before = ""
        self._minutes: Any = None
        self._order: list[str] = []
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)
        self.keeping = Keeping(self.shell)

    def on_kv_post(self, _: Any) -> None:
        # Held here, since `ids` holds weakly and only one of the two is in the tree.
        self._parts = {True: self.ids.listed.__self__, False: self.ids.one.__self__}
        self._show_part()

    # ---- coming and going ----

    def enter(self, **_: Any) -> None:
        """Turn to red, keep the screen on and dark, and show the evening from its top."""
        app = App.get_running_app()
        self._theme_before = app.theme.name
        self.shell.use_theme("red")
        self._stay_awake()
        self.shell.services.device.light.dim(True)
        app.fbind("on_resume", self._resumed)
        self._minutes = Clock.schedule_interval(self._minute, MINUTE_S)
        self._order = []
        self._close_box()
        self.ids.rows.scroll_y = 1
        self.refresh()

    def leave(self) -> None:
        """Give theme and light back."""
        app = App.get_running_app()
        app.funbind("on_resume", self._resumed)
        self._minutes.cancel()
        self.shell.use_theme(self._theme_before)
        self.shell.services.device.light.keep_awake(app.keeps_awake)
        self.shell.services.device.light.dim(False)

    def _stay_awake(self, *_: Any) -> None:
        self.shell.services.device.light.keep_awake(True)

    def _resumed(self, *_: Any) -> None:
        # The app itself goes back to the keeper's choice when it resumes; this comes after that.
        Clock.schedule_once(self._stay_awake, 0)
        Clock.schedule_once(self._minute, 0)

    def _minute(self, *_: Any) -> None:
        """Let the minutes after sunset go on, where nothing is being asked."""
        if self.shell.page is self and self.shell.sheet is None:
            self.refresh()

    # ---- showing ----

    def refresh(self) -> None:
        """Fetch what is shown anew."""
        self.ask("dusk_view", then=self.show)

    def show(self, view: DuskView) -> None:
        """Show a view; a box keeps its place in the list for as long as one stays here."""
        if self.shell.page is not self:
            return
        known = {box: at for at, box in enumerate(self._order)}
        rows = sorted(view.rows, key=lambda row: known.get(row.box_id, len(known)))
        self._order = [row.box_id for row in rows]
        self.view = view
        self._lay()
        if self.row is not None:
            again = next((row for row in rows if row.box_id == self.row.box_id), None)
            if again is None:
                self._close_box()
            else:
                self.open(again)

    def rows(self) -> list[DuskRow]:
        """Return the boxes in the order in which they stand here."""
        found = {row.box_id: row for row in self.view.rows}
        return [found[box] for box in self._order if box in found]

    def on_size(self, *_: Any) -> None:
        self._remeasure()

    def _lay(self, *_: Any) -> None:
        if self.view is None:
            return
        rows = self.ids.rows
        seen_px = (1 - rows.scroll_y) * max(0.0, rows.viewport_size[1] - rows.height)
        self.data = evening_rows(rows_width(rows), self.view, self.rows(), self)
        if seen_px > 0:
            Clock.schedule_once(lambda _: self._scroll_to(seen_px), 0)

    def _scroll_to(self, seen_px: float) -> None:
        hidden = max(1.0, self.ids.rows.viewport_size[1] - self.ids.rows.height)
        self.ids.rows.scroll_y = min(1.0, max(0.0, 1 - seen_px / hidden))

    def open(self, row: DuskRow) -> None:
        """Show one box."""
        self.row, self.title, self.headline = row, row.label, airy(row.headline)
        self.is_alone = row.state == "alone"
        self.facts = facts_of(row)
        self.acts = self._acts(row)
        self.back_to, self.is_list = "dusk", False

    def _acts(self, row: DuskRow) -> list[Act]:
        acts = list(row.acts)
        if row.n_females > 1:
            acts.append(Act(say("glow_several"), "count", command="several"))
        if not row.n_females and males_for(self.view.rows, row):
            acts.append(Act(say("bring_to"), "pair", command="bring_to"))
        return acts

    def _close_box(self) -> None:
        self.row, self.is_list, self.title, self.back_to = None, True, say("dusk"), "more"

    def on_is_list(self, *_: Any) -> None:
        self._show_part()
        self.ids.facts.rewind()

    def _show_part(self) -> None:
        self.ids.parts.clear_widgets()
        self.ids.parts.add_widget(self._parts[self.is_list])

    # ---- doing ----

    def do_act(self, act: Act, button: Any, row: DuskRow | None = None) -> None:
        """Do what a button stands for, at the box that shows or at the one given."""
        at = row or self.row
        ways = {
            "introduce": lambda: bring(self, at, button),
            "separate": lambda: part(self, at, button),
            "lay": lambda: lay(self, at, button),
            "several": lambda: self._several(at, button),
            "bring_to": lambda: bring_to(self, at, button),
        }
        if act.command in ways:
            ways[act.command]()
        else:
            self.keep("log_event", (Draft(act.kind, "box", at.box_id, dict(act.preset)),), button)

    def glow(self, row: DuskRow, button: Any) -> None:
        """Note at once that a female glows, or has stopped."""
        self.do_act(glow_act(row), button, row)

    def _several(self, row: DuskRow, button: Any) -> None:
        def save(n: int) -> None:
            self.keep("log_event", (Draft("glowing", "box", row.box_id, {"n": n}),), button)

        self.shell.open_number(
            f"{row.label}: {say('glow_several')}", value=row.n_females, minimum=1, maximum=MOST_GLOWING, then=save
        )

    def keep(self, name: str, args: tuple[Any, ...], button: Any = None) -> None:
        """Have an action save one entry, confirm it with its undo, and show the evening as it is then."""
        self.keeping.keep(name, args, lambda saved: self.shell.saved(saved, self.take), button)

    def take(self, _: Saved) -> None:
        """Show the evening as it is after something was logged or taken back."""
        if self.shell.page is self:
            self.refresh()

    def set_place(self, *_: Any) -> None:
        """Ask where this is, for the time of sunset."""
        ask_place(self.shell, self.refresh)


load_kv(__file__)

__all__ = ["DuskScreen"]
