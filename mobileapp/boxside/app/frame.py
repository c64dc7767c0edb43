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

from boxside.app.arming import Arming
from boxside.app.desk import Desk, notice_of
from boxside.core.values.keeping import Looked, Repaired
from boxside.core.values.views import Notice, NudgeView, StartView
from boxside.ui.acts import Acts
from boxside.ui.kv import register_fonts
from boxside.ui.theme import Theme
from boxside.ui.widgets.bar import UNDO_S
from boxside.ui.words import say

log = logging.getLogger("boxside.app")

NUDGE_S = 60.0
WAIT_S = 1.0
# Behind the first box, which nothing is to delay.
LOOK_AFTER_S = 2.0


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
        self.arming = Arming(self.tell_later)
        self.desk = desk or Desk(services, on_ui_thread, after=self.arming)
        self.acts = acts or Acts()
        self.wanted_theme = theme
        self.keeps_awake = True
        self._nudging: Any = None
        self._looking: Any = None
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
        self._connect(self.services.device)
        return self.shell

    def _connect(self, device: Any) -> None:
        """Give the device's parts what they need of the app, each where it has such a part."""
        if hasattr(device.photos, "chooser"):
            # A desktop has no choosers of its own that can be relied on, so it is lent these.
            device.photos.chooser = lambda then: self._chooser("PhotoChooser")(then)
        if hasattr(getattr(device, "files", None), "chooser"):
            device.files.chooser = lambda then: self._chooser("TableChooser")(then)
            device.files.folder_chooser = lambda then: self._chooser("FolderChooser")(then)
        if hasattr(device.photos, "answers"):
            # A phone's other apps answer on a thread of their own.
            answers = device.photos.answers
            answers.back, answers.tell = on_ui_thread, lambda error: self.shell.tell(notice_of(error))
            answers.work = lambda call, then: self.desk.ask(
                lambda _: call(), then=lambda _: then(), failed=self.shell.show
            )
        on_tap = getattr(getattr(device, "nudges", None), "on_tap", None)
        if on_tap is not None:
            on_tap(lambda place: on_ui_thread(lambda: self.shell.go(place)))

    def tell_later(self, notice: Notice) -> None:
        """Say something, from any thread, once nothing is being asked."""
        on_ui_thread(lambda: self._tell_when_free(notice))

    def _tell_when_free(self, notice: Notice) -> None:
        if self.shell.page is None or self.shell.sheet is not None:
            Clock.schedule_once(lambda _: self._tell_when_free(notice), WAIT_S)
        else:
            self.shell.tell(notice)

    def _make_room(self) -> None:
        """Keep clear of the phone's own bars, which lie over every app."""
        measure = getattr(self.services.device.light, "insets_px", None)
        if measure is not None:
            self.inset_top, self.inset_bottom = measure()

    def _chooser(self, name: str) -> Any:
        """Return a chooser of files, which few starts need."""
        from boxside.app import chooser

        return getattr(chooser, name)(self.shell, Path.home())

    def on_start(self) -> None:
        """Ask what there is, then show the first screen."""
        self.shell.ask("start_view", then=self.begin)

    def begin(self, view: StartView) -> None:
        """Take the keeper's theme and show Round, or on a first start what to begin with."""
        self.use_theme(self.wanted_theme or view.theme)
        self.keeps_awake = view.keep_awake
        self.services.device.light.keep_awake(self.keeps_awake)
        self._make_room()
        self.shell.go("start" if view.is_new else "round")
        self.shell.tell(view.notice)
        self._offer_photo()
        # The start had it off; what was made until now stays for good and need not be looked through.
        gc.freeze()
        gc.enable()
        if self.services.device.name == "desktop":
            # A phone is handed a plan; a desktop is nudged by the app itself, as long as it is open.
            self._nudging = Clock.schedule_interval(self.ask_for_nudge, NUDGE_S)

        self._looking = Clock.schedule_once(self.look_after, LOOK_AFTER_S)

    def look_after(self, *_: Any) -> None:
        """Have the log looked through, copied and archived, as far as the day asks for it; say what is to be known."""
        if self.shell.sheet is not None:
            # Whoever is entering something is not to be interrupted.
            self._looking = Clock.schedule_once(self.look_after, LOOK_AFTER_S)
            return
        self.desk.beside(self.acts.find("look_beside"), then=self._looked, failed=self.shell.tell)

    def _looked(self, looked: Looked) -> None:
        if looked.fault:
            self.shell.ask("repair_damaged", looked.fault, then=self._repaired)
            return
        bad = [notice for notice in looked.notices if notice.bad]
        if bad:
            self.shell.tell(bad[0])
        elif looked.notices:
            self._say_quietly(looked.notices[0])

    def _say_quietly(self, notice: Notice) -> None:
        """Say what can wait: once nothing else is said, and with no sheet under a thumb that is about to tap."""
        if self.shell.bar.is_toast or self.shell.sheet is not None:
            self._looking = Clock.schedule_once(lambda _: self._say_quietly(notice), UNDO_S)
        elif self.shell.bar.has_room(notice.what):
            self.shell.bar.say(notice.what, None)
        else:
            self.shell.tell(notice)

    def _repaired(self, repaired: Repaired) -> None:
        if self.shell.here == "round" and self.shell.sheet is None:
            # The round may be another one now.
            self.shell.go("round")
        self.shell.tell(repaired.notice)

    def _offer_photo(self) -> None:
        """Ask whose photo it is that came from the camera after the phone had ended the app meanwhile."""
        path = getattr(self.services.device.photos, "left_over", str)()

        def keep(box_id: str) -> None:
            self.shell.ask("keep_photo", box_id, path, then=lambda saved: self.shell.saved(saved, lambda _: None))

        if path and self.shell.sheet is None:
            self.shell.open_boxes(say("photo_left"), keep)

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
        self.arming.again()
        self.shell.ask("zone_of", then=lambda _: None)
        return True

    def on_resume(self) -> None:
        """Show the day's round anew, since the day may have changed meanwhile."""
        self.services.device.light.keep_awake(self.keeps_awake)
        self._looking = Clock.schedule_once(self.look_after, LOOK_AFTER_S)
        self._make_room()
        self.arming.again()
        if self.shell.here == "round" and self.shell.sheet is None:
            self.shell.go("round")

    def on_stop(self) -> None:
        """Finish what was asked for, then let go."""
        for coming in (self._nudging, self._looking):
            if coming is not None:
                coming.cancel()
        self.shell.close()
        # On a phone the worker's thread has spoken to Java.
        leave = getattr(getattr(self.services.device, "nudges", None), "leave_thread", None)
        if leave is None:
            self.desk.close()
        else:
            self.desk.close(leave)


__all__ = ["BoxsideApp", "on_ui_thread"]
