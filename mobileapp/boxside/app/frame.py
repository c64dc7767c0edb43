"""The Kivy app object: theme, shell, first screen, the phone's back key, pause and resume."""

from __future__ import annotations

import gc
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import NumericProperty, ObjectProperty

from boxside.app.desk import Desk
from boxside.core.values.views import Notice, NudgeView, StartView
from boxside.ui.acts import Acts
from boxside.ui.kv import register_fonts
from boxside.ui.theme import Theme
from boxside.ui.words import say

log = logging.getLogger("boxside.app")

NUDGE_S = 60.0


def on_ui_thread(call: Callable[[], None]) -> None:
    """Have a call made on the thread that draws, with the next frame."""
    Clock.schedule_once(lambda _: call(), 0)


class BoxsideApp(App):
    """Owns theme, desk and shell; `acts` may be a test's own."""

    theme = ObjectProperty(None)
    inset_top = NumericProperty(0)
    inset_bottom = NumericProperty(0)

    def __init__(
        self, services: Any, assets: Path, desk: Any = None, acts: Acts | None = None, theme: str | None = None
    ) -> None:
        super().__init__()
        register_fonts(assets)
        self.services, self.assets = services, assets
        self.desk = desk or Desk(services, on_ui_thread)
        self.acts = acts or Acts()
        self.wanted_theme = theme
        self.keeps_awake = True
        self._nudging: Any = None
        self._is_nudge_told = False
        self.theme = Theme(theme or "day")
        self.title = "Boxside"
        self.icon = str(assets / "icon.png")
        # Where the phone's own keyboard comes up, the field that is written in stays in sight.
        Window.softinput_mode = "below_target"
        self.theme.bind(ground=self._clear)
        self._clear()

    def load_kv(self, filename: str | None = None) -> None:
        """Load nothing by name: every kv file is loaded by its own module."""

    def word(self, key: str, **values: object) -> str:
        """Return the words of a key, for kv."""
        return say(key, **values)

    def _clear(self, *_: Any) -> None:
        Window.clearcolor = self.theme.ground

    def build(self) -> Any:
        """Return the shell; the first screen comes with the start view."""
        from boxside.ui.shell import Shell

        self.shell = Shell(self.desk, self.services, self.acts, self.stop)
        if hasattr(self.services.device.photos, "chooser"):
            # A desktop has no chooser of its own that can be relied on, so it is lent this one.
            self.services.device.photos.chooser = self._choose_photo
        if hasattr(getattr(self.services.device, "files", None), "chooser"):
            self.services.device.files.chooser = self._choose_table
        return self.shell

    def _choose_photo(self, then: Callable[[str], None]) -> None:
        """Ask for a picture file with the chooser, which few starts need."""
        from boxside.app.chooser import PhotoChooser

        PhotoChooser(self.shell, Path.home())(then)

    def _choose_table(self, then: Callable[[str], None]) -> None:
        """Ask for a logger's table in the same way."""
        from boxside.app.chooser import TableChooser

        TableChooser(self.shell, Path.home())(then)

    def on_start(self) -> None:
        """Ask what there is, then show the first screen."""
        self.shell.ask("start_view", then=self.begin)

    def begin(self, view: StartView) -> None:
        """Take the keeper's theme and show Round, or on a first start what to begin with."""
        self.use_theme(self.wanted_theme or view.theme)
        self.keeps_awake = view.keep_awake
        self.services.device.light.keep_awake(self.keeps_awake)
        self.shell.go("start" if view.is_new else "round")
        self.shell.tell(view.notice)
        # The start had it off; what was made until now stays for good and need not be looked through.
        gc.freeze()
        gc.enable()
        if self.services.device.name == "desktop":
            # A phone is handed a plan; a desktop is nudged by the app itself, as long as it is open.
            self._nudging = Clock.schedule_interval(self.ask_for_nudge, NUDGE_S)

    def ask_for_nudge(self, *_: Any) -> None:
        """Have today's nudge posted if its time has come; where that fails, say so once."""
        if self.shell.sheet is None:
            self.shell.ask("nudge_if_time", then=self._nudged, failed=self._tell_nudge)

    def _nudged(self, view: NudgeView | None) -> None:
        if view is not None and view.notice is not None:
            self._tell_nudge(view.notice)

    def _tell_nudge(self, notice: Notice) -> None:
        if not self._is_nudge_told:
            self._is_nudge_told = True
            self.shell.tell(notice)

    def use_theme(self, name: str) -> None:
        """Change all colours at once."""
        self.theme.use(name)

    def on_pause(self) -> bool:
        """Let the phone pause the app; everything that was ticked is on the disk already."""
        self.services.device.light.keep_awake(False)
        return True

    def on_resume(self) -> None:
        """Show the day's round anew, since the day may have changed meanwhile."""
        self.services.device.light.keep_awake(self.keeps_awake)
        if self.shell.here == "round" and self.shell.sheet is None:
            self.shell.go("round")

    def on_stop(self) -> None:
        """Finish what was asked for, then let go."""
        if self._nudging is not None:
            self._nudging.cancel()
        self.shell.close()
        self.desk.close()


__all__ = ["BoxsideApp", "on_ui_thread"]
