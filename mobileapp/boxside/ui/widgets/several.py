"""A sheet on which several of many are picked: each tap takes one in or out, the page that shows stays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.ui.kv import load_kv
from boxside.ui.widgets.sheet import Sheet
from boxside.ui.words import say, say_n


class SeveralSheet(Sheet):
    """`choices` are (key, words); `then` gets the keys that were picked, in the order of the choices."""

    choices = ListProperty([])
    picked = ListProperty([])
    items = ListProperty([])
    done = StringProperty("")
    none = StringProperty("")
    then = ObjectProperty(None, allownone=True)

    def on_kv_post(self, _: Any) -> None:
        self._mark()

    def pick(self, key: Any) -> None:
        """Take one in, or out again."""
        self.picked = [one for one in self.picked if one != key] if key in self.picked else [*self.picked, key]
        self._mark()

    def _mark(self) -> None:
        self.items = [(key, words, "check" if key in self.picked else "add") for key, words in self.choices]
        self.done = say_n("picked", len(self.picked)) if self.picked else self.none

    def save(self) -> None:
        """Close, then hand on what was picked."""
        self.close()
        if self.then is not None:
            self.then(tuple(key for key, _ in self.choices if key in self.picked))


def ask_several(
    shell: Any, title: str, choices: Sequence[tuple[str, str]], picked: Sequence[str], none: str,
    then: Callable[[tuple[str, ...]], None],
) -> None:  # fmt: skip
    """Ask for several; `none` are the words for picking none."""
    shell.open_sheet(
        SeveralSheet(
            title=title, hint=say("pick_several"), choices=list(choices), picked=list(picked), none=none, then=then,
            needs_room=True,
        )
    )  # fmt: skip


load_kv(__file__)

__all__ = ["SeveralSheet", "ask_several"]
