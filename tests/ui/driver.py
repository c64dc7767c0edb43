"""A person at the app: finds buttons by their words and taps them with real touches."""

from __future__ import annotations

from typing import Any

from kivy.tests.common import UnitTestTouch

from boxside.ui.widgets.contacts import contacts
from boxside.ui.widgets.press import Press
from tests.ui.ticking import ticks

TAP_S = 0.08
PAUSE_S = 1.0


class Hand:
    """One finger (or drop): down, along, up, at window coordinates, at moments that the test sets."""

    def __init__(self, driver: Driver, x: float, y: float) -> None:
        self.driver = driver
        self.touch = UnitTestTouch(x, y)
        self.x, self.y = x, y

    def down(self) -> Hand:
        self.touch.touch_down()
        return self

    def move(self, x: float, y: float) -> Hand:
        self.touch.touch_move(x, y)
        return self

    def up(self, after_s: float = TAP_S) -> Hand:
        self.driver.t += after_s
        self.touch.touch_up()
        ticks(2)
        return self


class Driver:
    """Drives a running app; its clock stands still unless told otherwise."""

    def __init__(self, app: Any) -> None:
        self.app = app
        self.t = 1000.0
        contacts.forget()
        contacts._last = None
        contacts.now = lambda: self.t
        ticks(3)

    @property
    def shell(self) -> Any:
        return self.app.shell

    @property
    def page(self) -> Any:
        return self.app.shell.page

    @property
    def services(self) -> Any:
        return self.app.services

    def targets(self) -> list[Any]:
        """Return what can be pressed now."""
        return [w for w in self.shell.targets() if w.opacity > 0]

    def words(self) -> str:
        """Return every text that shows, one a line."""
        from kivy.uix.label import Label

        top = self.shell.sheet or self.shell
        return "\n".join(w.text for w in top.walk() if isinstance(w, Label) and w.text)

    def settle(self) -> None:
        """Let what was just opened be laid out."""
        ticks(4)

    def find(self, words: str) -> Any:
        """Return the target with those words, or that begins with them."""
        named = [(w, getattr(w, "text", "") or getattr(w, "title", "") or "") for w in self.targets()]
        exact = [w for w, name in named if name == words]
        begins = [w for w, name in named if name.startswith(words) or getattr(w, "mark", "") == words]
        found = exact or begins
        assert found, f"no target {words!r} among {[name for _, name in named]}"
        return found[0]

    def has(self, words: str) -> bool:
        """Whether there is a target with exactly those words."""
        return any(getattr(w, "text", "") == words for w in self.targets())

    def at(self, x: float, y: float) -> Hand:
        return Hand(self, x, y)

    def centre(self, target: Any) -> tuple[float, float]:
        x, y = target.to_window(*target.center)
        return float(x), float(y)

    def tap(self, words: str | Press) -> None:
        """Tap a target at its centre, then wait long enough for the next tap to count."""
        target = self.find(words) if isinstance(words, str) else words
        self.at(*self.centre(target)).down().up()
        self.t += PAUSE_S
        ticks(4)

    def type(self, keys: str) -> None:
        """Type on the keypad that shows."""
        for key in keys:
            self.tap(key)

    def key(self, code: int, modifiers: list[str] | None = None) -> None:
        """Press a key of a keyboard."""
        from kivy.core.window import Window

        Window.dispatch("on_key_down", code, 0, None, modifiers or [])
        ticks(2)


__all__ = ["PAUSE_S", "TAP_S", "Driver", "Hand"]
