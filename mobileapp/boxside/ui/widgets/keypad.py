"""Keypads for wet fingers: digits, and letters in two halves for the code on a lid."""

from __future__ import annotations

from typing import Any

from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from boxside.ui.kv import load_kv
from boxside.ui.widgets.button import SmallButton

DIGITS = tuple("123456789")
PAGES: dict[str, tuple[str, ...]] = {
    "digits": (*DIGITS, "", "0", "erase"),
    "decimal": (*DIGITS, ".", "0", "erase"),
    "signed": ("1", "2", "3", "erase", "4", "5", "6", "-", "7", "8", "9", ".", "", "0", ""),
    "code": (*DIGITS, "a-m", "0", "erase"),
    "a-m": (*"ABCDEFGHIJKLM", "n-z", "123", "erase"),
    "n-z": (*"NOPQRSTUVWXYZ", "a-m", "123", "erase"),
}
TURNS = {"a-m": "a-m", "n-z": "n-z", "123": "code"}
FACES = {"erase": "erase", "-": "minus", "a-m": "letters", "n-z": "right", "123": "keypad"}


class Key(SmallButton):
    """One key; `key` is what it types or does."""

    key = StringProperty("")


class KeyGrid(GridLayout):
    """The keys of the page that shows."""


class Keypad(BoxLayout):
    """Types into `value`; `page` says which keys show; never longer than `longest` signs."""

    value = StringProperty("")
    page = StringProperty("digits")
    keys = ListProperty([])
    longest = 6

    def on_kv_post(self, _: Any) -> None:
        self.fbind("page", self._lay)
        self._lay()

    def _lay(self, *_: Any) -> None:
        grid = self.ids.grid
        grid.clear_widgets()
        keys = PAGES[self.page]
        grid.cols = 3 if len(keys) == 12 else 4
        for key in keys:
            face = Key(key=key, text="" if key in FACES else key, icon=FACES.get(key, ""))
            face.disabled = not key
            face.opacity = 1 if key else 0
            face.bind(on_act=self._typed)
            grid.add_widget(face)

    def _typed(self, face: Any) -> None:
        self.type_key(face.key)

    def type_key(self, key: str) -> None:
        """Do what that key does."""
        if key in TURNS:
            self.page = TURNS[key]
        elif key == "erase":
            self.value = self.value[:-1]
        elif key == "-":
            self.value = self.value.removeprefix("-") if self.value.startswith("-") else f"-{self.value}"
        elif len(self.value) < self.longest and not (key == "." and "." in self.value):
            self.value += key


load_kv(__file__)

__all__ = ["PAGES", "Key", "Keypad"]
