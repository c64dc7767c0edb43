"""The frame around every screen: the page that shows, the sheet over it, the bar below, the way back."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout

from boxside.core.values.views import Notice, Saved, Undo
from boxside.ui.acts import Acts
from boxside.ui.kv import load_kv
from boxside.ui.outside import ask_photo
from boxside.ui.places import BY_NAME
from boxside.ui.widgets.bar import Bar
from boxside.ui.widgets.contacts import contacts
from boxside.ui.widgets.press import Press
from boxside.ui.widgets.sheet import ChoiceSheet, CodeSheet, NoticeSheet, NumberSheet, Sheet, TextSheet
from boxside.ui.words import say

if TYPE_CHECKING:
    from boxside.core.values.season import Flow

ENTER, SPACE, TAB, ESCAPE = (13, 271), 32, 9, 27


class Page(BoxLayout):
    """What every screen is: it knows the shell, is entered with values, and is left."""

    is_layer = True
    shell = ObjectProperty(None, rebind=True)
    back_to = StringProperty("round")

    def enter(self, **values: Any) -> None:
        """Show what it is about; called each time the screen is gone to."""

    def leave(self) -> None:
        """Let go of what should not go on while another screen shows."""

    def step_back(self) -> bool:
        """Go back within the screen; False where that leads out of it."""
        return False

    def ask(self, name: str, *args: Any, then: Callable[[Any], None], failed: Any = None) -> None:
        """Have an action run and its result brought back; a failure is shown unless `failed` takes it."""
        self.shell.ask(name, *args, then=then, failed=failed)


class Shell(FloatLayout):
    """Holds one page, at most one sheet and the bar; goes, comes back, and has actions run."""

    page = ObjectProperty(None, allownone=True)
    sheet = ObjectProperty(None, allownone=True)
    here = StringProperty("")

    def __init__(self, desk: Any, services: Any, acts: Acts, leave_app: Callable[[], None], **kwargs: Any) -> None:
        self.desk, self.services, self.acts, self.leave_app = desk, services, acts, leave_app
        self.built: dict[str, Page] = {}
        self._focus: Press | None = None
        super().__init__(**kwargs)
        self.bar = Bar()
        self.bar.bind(on_place=self._go_to_place)
        self._column, self._slot = self.ids.column.__self__, self.ids.slot.__self__
        Window.bind(on_key_down=self._on_key)

    # ---- going places ----

    def go(self, name: str, **values: Any) -> None:
        """Show a screen, building it on the first visit."""
        contacts.forget()
        self._unfocus()
        if self.page is not None:
            self.page.leave()
        page = self.built.get(name) or self._build(name)
        self._slot.clear_widgets()
        self._slot.add_widget(page)
        self.page, self.here = page, name
        self.bar.here = BY_NAME[name].under
        self._show_bar(BY_NAME[name].has_bar)
        page.enter(**values)

    def _build(self, name: str) -> Page:
        module = import_module(f"boxside.ui.screens.{name}.{name}")
        self.built[name] = getattr(module, BY_NAME[name].screen)(shell=self)
        return self.built[name]

    def _show_bar(self, is_shown: bool) -> None:
        if is_shown and self.bar.parent is None:
            self._column.add_widget(self.bar)
        elif not is_shown and self.bar.parent is not None:
            self._column.remove_widget(self.bar)

    def _go_to_place(self, _: Any, place: str) -> None:
        if place != self.here:
            self.go(place)

    def back(self) -> bool:
        """Go one step back: close the sheet, leave the screen, or leave the app from the first one."""
        if self.sheet is not None:
            self.sheet.leave()
        elif self.here in ("round", "start"):
            self.leave_app()
        elif not self.page.step_back():
            self.go(self.page.back_to)
        return True

    # ---- sheets ----

    def open_sheet(self, sheet: Sheet) -> None:
        """Lay a sheet over everything; it takes the place of one that is open."""
        contacts.forget()
        self._unfocus()
        if self.sheet is not None:
            self.remove_widget(self.sheet)
        sheet.shell, self.sheet = self, sheet
        self.add_widget(sheet)

    def close_sheet(self, sheet: Sheet) -> None:
        """Take a sheet away."""
        self._unfocus()
        if self.sheet is sheet:
            self.sheet = None
        self.remove_widget(sheet)

    def open_choices(
        self, title: str, items: list[Any], then: Callable[[Any], None], hint: str = "", chosen: Any = None
    ) -> None:
        """Ask one question with its answers as buttons."""
        self.open_sheet(ChoiceSheet(title=title, hint=hint, items=items, then=then, chosen=chosen))

    def open_number(self, title: str, **values: Any) -> None:
        """Ask for a number."""
        self.open_sheet(NumberSheet(title=title, **values))

    def open_text(self, title: str, value: str, then: Callable[[str], None]) -> None:
        """Ask for a few words."""
        self.open_sheet(TextSheet(title=title, value=value, then=then))

    def open_code(self, title: str, action: str, then: Callable[[str], None], **values: Any) -> None:
        """Ask for the code on a lid."""
        self.open_sheet(CodeSheet(title=title, action=action, then=then, **values))

    def open_boxes(self, title: str, then: Callable[[Any], None], can_skip: bool = False) -> None:
        """Ask for a box by its code, then which of those that match."""
        skip = [(None, say("skip"), "right")] if can_skip else []

        def choose(view: Any) -> None:
            items = [(row.box_id, f"{row.label}  {row.who}", "box") for row in view.rows]
            self.open_choices(title, [*items, *skip], then, "" if items else say("no_boxes_found"))

        def look(code: str) -> None:
            self.ask("shelf_view", code, then=choose)

        self.open_code(title, say("find"), look, hint=say("find_hint"))

    def show(
        self, notice: Notice | None, again: Callable[[], None] | None = None, out: str = "", other: str = "",
        then_other: Callable[[], None] | None = None, other_icon: str = "correct",
    ) -> None:  # fmt: skip
        """Show a notice, if there is one, with a second try where `again` is given, or with another way on."""
        if notice is None:
            return
        self.open_sheet(
            NoticeSheet(
                what=notice.what, safe=notice.safe, do=notice.do, bad=notice.bad, out=out,
                again=say("try_again") if again else "", then=again, other=other, then_other=then_other,
                other_icon=other_icon,
            )
        )  # fmt: skip

    def add_photo(self, box_id: str, visit: str, button: Any, then: Callable[[Any], None]) -> None:
        """Have a photo taken or chosen, and kept with a box."""

        def kept(saved: Saved) -> None:
            if button is not None:
                button.state = "done"
            self.saved(saved, then)

        ask_photo(self, say("photo"), lambda path: self.ask("keep_photo", box_id, path, visit, then=kept))

    # ---- actions ----

    def ask(self, name: str, *args: Any, then: Callable[[Any], None], failed: Any = None) -> None:
        """Have the desk run an action; its result goes to `then`, a failure to `failed` or on a sheet."""
        self.desk.ask(self.acts.find(name), *args, then=then, failed=failed or self.show)

    def use_theme(self, name: str) -> None:
        """Change all colours at once."""
        App.get_running_app().use_theme(name)

    def word(self, key: str, **values: Any) -> str:
        """Return the words of a key."""
        return say(key, **values)

    def tell(self, notice: Notice | None) -> None:
        """Tell a notice: in the bar if that suffices, on a sheet if something is to be known or done."""
        if notice is not None and (notice.bad or notice.safe or notice.do):
            self.show(notice)
        elif notice is not None and self.bar.has_room(notice.what):
            self.bar.say(notice.what, None)
        else:
            self.show(notice)

    def saved(self, saved: Saved, then: Callable[[Saved], None]) -> None:
        """Confirm a save: by touch, by a toast with its undo, then let `then` show what came of it."""
        self.services.device.haptics.confirm()
        undo = saved.undo
        if undo is not None:
            self.bar.say(undo.label, lambda: self.undo(undo, then))
        if saved.notice is not None and (undo is None or saved.notice.do):
            self.tell(saved.notice)
        then(saved)

    def flow_saved(self, flow: Flow, then: Callable[[Saved], None]) -> Callable[[], None]:
        """Confirm several entries made at once; returns what takes all of them back."""

        def undo() -> None:
            self._undo_all(flow.events, then)

        self.services.device.haptics.confirm()
        if flow.saved.undo is not None:
            self.bar.say(flow.saved.undo.label, undo)
        then(flow.saved)
        return undo

    def undo(self, undo: Undo, then: Callable[[Saved], None]) -> None:
        """Take back what a save made, all of it."""
        if undo.events:
            self._undo_all(undo.events, then)
        else:
            self.take_back(undo.event_id, then)

    def _undo_all(self, events: tuple[str, ...], then: Callable[[Saved], None]) -> None:
        self.ask("undo_flow", events, then=lambda saved: self.saved(saved, then))

    def take_back(self, event_id: str, then: Callable[[Saved], None]) -> None:
        """Have an entry taken back."""
        self.ask("void_event", event_id, then=lambda saved: self.saved(saved, then))

    # ---- touches and keys ----

    def on_touch_down(self, touch: Any) -> bool:
        contacts.seen(touch)
        if self.sheet is not None:
            return bool(self.sheet.dispatch("on_touch_down", touch))
        return bool(super().on_touch_down(touch))

    def targets(self) -> list[Press]:
        """Return what can be pressed now, from the top left to the bottom right."""
        top = self.sheet or self
        found = [w for w in top.walk() if isinstance(w, Press) and not w.disabled and w.height > 1]
        return sorted(found, key=lambda w: (-w.to_window(0, w.top)[1], w.to_window(w.x, 0)[0]))

    def _on_key(self, _: Any, key: int, __: int, ___: Any, modifiers: list[str]) -> bool:
        if key == TAB:
            self._move_focus(-1 if "shift" in modifiers else 1)
        elif key in ENTER or key == SPACE:
            return self._press_focused()
        elif key == ESCAPE:
            return self.back()
        else:
            return False
        return True

    def _move_focus(self, by: int) -> None:
        targets = self.targets()
        if not targets:
            return
        at = targets.index(self._focus) + by if self._focus in targets else (0 if by > 0 else -1)
        self._unfocus()
        self._focus = targets[at % len(targets)]
        self._focus.focused = True

    def _press_focused(self) -> bool:
        if self._focus is None or self._focus not in self.targets():
            return False
        focus = self._focus
        Clock.schedule_once(lambda _: focus.press_by_key(), -1)
        return True

    def _unfocus(self) -> None:
        if self._focus is not None:
            self._focus.focused = False
        self._focus = None

    def close(self) -> None:
        """Let go of the window's keys."""
        Window.unbind(on_key_down=self._on_key)


load_kv(__file__)

__all__ = ["Page", "Shell"]
