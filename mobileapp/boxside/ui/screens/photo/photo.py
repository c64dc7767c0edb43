"""Photo: taken or chosen, measured off the drawing thread, corrected by touch, booked; or refused with the reason."""

from __future__ import annotations

import re
from functools import partial
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty

from boxside.core.values.errors import BoxsideError
from boxside.core.values.photo_view import MeasureView
from boxside.core.values.views import Act, Notice, Saved
from boxside.ui.acts import can_take_photo, choose_photo, take_photo
from boxside.ui.by_hand import ByHand
from boxside.ui.keeping import Keeping
from boxside.ui.kv import load_kv
from boxside.ui.screens.photo.accepting import Accepting
from boxside.ui.screens.photo.parts import Face, PhotoBusy, PhotoRefused, PhotoStart, PhotoWork
from boxside.ui.screens.photo.running import Run
from boxside.ui.screens.photo.touching import KNOWN, RESULT, Touching
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import MainGrid  # noqa: F401  used by the kv file
from boxside.ui.widgets.picture import PictureView
from boxside.ui.widgets.reading import ShareRow  # noqa: F401  used by the kv file
from boxside.ui.words import say

START, BUSY, REFUSED = "start", "busy", "refused"
NEEDS_LARGER_BUILD = "no_opencv"
LOOK_S = 0.1
_DIGEST = re.compile(r"[0-9a-f]{64}")


class PhotoScreen(Page):
    """Shows one photo of one box, from the camera to the log; what was corrected stays until it is booked."""

    state = StringProperty("")
    title = StringProperty("")
    ways = ListProperty([])
    doing = StringProperty("")
    share = NumericProperty(0)
    what = StringProperty("")
    safe = StringProperty("")
    todo = StringProperty("")
    told = StringProperty("")
    hint = StringProperty("")
    mode = StringProperty("drop")
    can_undo = BooleanProperty(False)
    has_picture = BooleanProperty(False)
    steepness = NumericProperty(1)
    is_whole = BooleanProperty(True)
    can_come_closer = BooleanProperty(False)
    pan_ways = ListProperty([])
    aside = StringProperty("")
    aside_icon = StringProperty("photo")
    view = ObjectProperty(None, allownone=True)
    back_to = StringProperty("box")

    def __init__(self, **kwargs: Any) -> None:
        self.run = Run()
        self.picture = PictureView()
        self._box_id = self._source = self._visit = ""
        self._looking = Clock.schedule_interval(self._look, LOOK_S)
        self._looking.cancel()
        self._faces: dict[str, Face] = {}
        self.touching = Touching(self)
        super().__init__(**kwargs)
        for name in ("is_whole", "can_come_closer", "pan_ways"):
            self.picture.fbind(name, self._follow_picture)
        self.picture.bind(on_spot=self._spot, on_moved=self._moved)

    # ---- coming and going ----

    def enter(self, box_id: str = "", title: str = "", source: str = "", back_to: str = "", **_: Any) -> None:
        """Show that box's photo: the one at hand, else one from `source` (a path or a kept photo), else ask for one."""
        is_other = bool(box_id) and box_id != self._box_id
        self._box_id, self.title = box_id or self._box_id, title or self.title
        self.back_to = back_to or self.back_to
        if source and (is_other or source != self._source):
            self.measure(source)
        elif is_other or not self.state:
            self.show_start()

    def leave(self) -> None:
        """Stop measuring; what was measured before stays for the way back."""
        if self.state == BUSY:
            self.stop()

    def show_start(self) -> None:
        """Ask where the photo comes from."""
        self.view, self._source = None, ""
        ways = [Act(say("choose_photo"), "shelf", command="choose"), Act(say("by_hand"), "by_hand", command="by_hand")]
        if can_take_photo(self.shell.services):
            ways.insert(0, Act(say("take_photo"), "photo", command="take"))
        self._face(START, PhotoStart, ways)

    def _face(self, state: str, kind: type[Face], ways: list[Act]) -> Face:
        """Show one of the faces, which are built when first shown."""
        self.state, self.ways = state, ways
        face = self._faces.get(state) or kind(screen=self)
        self._faces[state] = face
        self.ids.slot.clear_widgets()
        self.ids.slot.add_widget(face)
        if self.picture.parent is not None:
            self.picture.parent.remove_widget(self.picture)
        self.has_picture = "slot" in face.ids and self.view is not None and self.view.frame is not None
        if self.has_picture:
            self.steepness = self.view.frame.height_px / self.view.frame.width_px
            face.ids.slot.add_widget(self.picture)
        self._follow_picture()
        return face

    def _follow_picture(self, *_: Any) -> None:
        """Offer what the picture can do now, and aside another photo or the whole of this one."""
        self.is_whole = self.picture.is_whole or not self.has_picture
        self.can_come_closer = self.has_picture and self.picture.can_come_closer
        self.pan_ways = self.picture.pan_ways if self.has_picture else []
        if not self.is_whole:
            self.aside, self.aside_icon = say("all_of_it"), "whole"
        else:
            self.aside, self.aside_icon = (say("another_photo") if self.state == RESULT else ""), "photo"

    def do_aside(self) -> None:
        """Show the whole photo, or ask for another one."""
        if not self.is_whole:
            self.picture.show_whole()
        else:
            self.another(None)

    # ---- ways on ----

    def do_way(self, act: Act, button: Any) -> None:
        """Do what one of the large buttons stands for."""
        getattr(self, act.command)(button)

    def take(self, _: Any) -> None:
        """Have the camera take a photo, then measure it."""
        self._ask_device(take_photo)

    def choose(self, _: Any) -> None:
        """Have a photo chosen, then measure it."""
        self._ask_device(choose_photo)

    def another(self, _: Any) -> None:
        """Have another photo taken or chosen; the one at hand stays until there is one."""
        if not can_take_photo(self.shell.services):
            self._ask_device(choose_photo)
            return
        items = [(take_photo, say("take_photo"), "photo"), (choose_photo, say("choose_photo"), "shelf")]
        self.shell.open_choices(say("another_photo"), items, self._ask_device)

    def _ask_device(self, ask: Any) -> None:
        try:
            ask(self.shell.services, self.measure)
        except BoxsideError as error:
            self.shell.show(Notice(what=str(error), bad=True))

    def by_hand(self, _: Any) -> None:
        """Enter lengths that were measured otherwise."""
        ByHand(self.shell, self._box_id, lambda _: self._gone(), self._visit).begin()

    def _gone(self) -> None:
        """Go back, with nothing left of this photo."""
        self.state, self.view, self._source = "", None, ""
        if self.shell.page is self:
            self.shell.go(self.back_to, box_id=self._box_id)

    def _again(self, _: Saved) -> None:
        """Show anew where one is, after something was taken back there."""
        if self.shell.here in ("box", "growth"):
            self.shell.go(self.shell.here)

    def keep(self, button: Any) -> None:
        """Keep the photo with the box, without a number."""

        def kept(saved: Saved) -> None:
            self._gone()
            self.shell.saved(saved, self._again)

        self._keep(button, kept)

    def _keep(self, button: Any, then: Any) -> None:
        Keeping(self.shell).keep("keep_photo", (self._box_id, self._source, self._visit), then, button)

    # ---- measuring ----

    def measure(self, source: str) -> None:
        """Measure a photo by its card."""
        self._begin("measure", lambda run: (source, self._box_id, run.progress, run.cancelled), source)

    def calibrate(self, mm: float) -> None:
        """Measure it by the two points that were tapped, which lie so far apart."""
        first, second = self.picture.points
        view = self.view
        args = lambda run: (view, first, second, mm, run.progress, run.cancelled)  # noqa: E731
        self._begin("calibrate_by_taps", args, self._source)

    def _begin(self, action: str, args: Any, source: str) -> None:
        self.run.stop()
        self.run = run = Run()
        self.doing, self.share = "", 0
        self._face(BUSY, PhotoBusy, [])
        self._looking()
        self.ask(action, *args(run), then=partial(self._measured, run, source), failed=partial(self._failed, run))

    def _look(self, *_: Any) -> None:
        self.doing, self.share = self.run.what, self.run.share

    def stop(self) -> None:
        """Stop measuring and go one step back, at once: the worker follows at its next step."""
        self.run.stop()
        self._looking.cancel()
        if self.view is not None:
            self.show(self.view)
        else:
            self.show_start()

    def _failed(self, run: Run, notice: Notice) -> None:
        if run is self.run and not run.is_stopped:
            self.stop()
            self.shell.show(notice)

    def _measured(self, run: Run, source: str, view: MeasureView) -> None:
        if run is self.run and not run.is_stopped:
            self._looking.cancel()
            self._source = source
            self.show(view)

    # ---- what came of it ----

    def show(self, view: MeasureView) -> None:
        """Show a measured photo, or why it is refused."""
        self.view = view
        if view.refused:
            self._refuse(view)
            return
        self.touching.begin(view)
        self._work(RESULT, [Act(say("save_sizes"), "check", command="accept"),
                            Act(say("sizes"), "list", command="list_sizes")])  # fmt: skip

    def _work(self, state: str, ways: list[Act]) -> None:
        face = self._face(state, PhotoWork, ways)
        face.is_result = state == RESULT
        self.touching.refresh()

    def _refuse(self, view: MeasureView) -> None:
        notice = view.notice or Notice("")
        self.what, self.safe, self.todo = notice.what, notice.safe, notice.do
        self.touching.end(view)
        ways = [Act(say("another_photo"), "photo", command="another")]
        if view.can_calibrate and view.frame is not None:
            ways.insert(0, Act(say("known"), "ruler", command="known"))
        if view.refused == NEEDS_LARGER_BUILD:
            ways = [Act(say("by_hand"), "by_hand", command="by_hand")]
            self._keep_for_later()
        elif not _DIGEST.fullmatch(self._source):
            ways.append(Act(say("keep_photo"), "save", command="keep"))
        self._face(REFUSED, PhotoRefused, ways)

    def _keep_for_later(self) -> None:
        """Keep a photo that this build cannot measure, so that another one can."""

        def kept(_: Any = None) -> None:
            self.shell.services.device.haptics.confirm()
            self.safe = say("photo_kept")
            self.todo = f"{self.todo} {say('photo_kept_do')}"

        if _DIGEST.fullmatch(self._source):
            self.safe = say("photo_kept")
        else:
            self._keep(None, kept)

    # ---- a known length in place of the card ----

    def known(self, _: Any) -> None:
        """Have the two ends of a known length tapped."""
        self.touching.begin_known(self.view)
        self._work(KNOWN, [])

    def ask_length(self, _: Any) -> None:
        """Ask how far apart the two points lie."""
        self.shell.open_number(
            say("known_ask"), hint=say("known_ask_hint"), by_keypad=True, whole=False, minimum=0.5, maximum=1000,
            unit="mm", then=self.calibrate,
        )  # fmt: skip

    # ---- correcting ----

    def use(self, mode: str) -> None:
        """Choose what a touch does: drop, add, ends."""
        self.mode = mode
        self.touching.choose(mode)

    def undo(self) -> None:
        """Take the last correction back, or the last tap."""
        self.touching.undo()

    def _spot(self, _: Any, at: Any) -> None:
        self.touching.spot(at, self.picture.reach_px())

    def _moved(self, _: Any, body_id: str, end: int, at: Any) -> None:
        self.touching.move(body_id, end, at)

    def list_sizes(self, _: Any) -> None:
        """Show every body in words; a tap leaves it out or brings it back."""
        self.touching.list_sizes()

    def accept(self, button: Any) -> None:
        """Ask what is to be booked."""
        is_kept = bool(_DIGEST.fullmatch(self._source))
        accepting = Accepting(
            self.shell, self.title, self._gone, self._again, None if is_kept else partial(self.keep, button)
        )
        self.touching.final(lambda view: accepting.begin(view, self._visit, button))

    def step_back(self) -> bool:
        """Go back to another face of this screen, where there is one before this."""
        if self.state == KNOWN and self.view is not None:
            self._refuse(self.view)
            return True
        if self.state == BUSY:
            self.stop()
            return True
        return False


load_kv(__file__)

__all__ = ["NEEDS_LARGER_BUILD", "PhotoScreen"]
