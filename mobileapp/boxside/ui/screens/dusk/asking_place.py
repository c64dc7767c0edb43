"""Asks for latitude and longitude by keypad, without a sign: north or south, east or west."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from boxside.ui.words import say


@dataclass(frozen=True)
class Half:
    """One half of the globe: its words, and the sign that its degrees have."""

    words: str
    sign: int


def ask_place(shell: Any, then: Callable[[], None]) -> None:
    """Ask for both, save each, then go on."""

    def longitude() -> None:
        halves = (Half(say("east"), 1), Half(say("west"), -1))
        _ask(shell, "longitude", (say("longitude"), say("longitude_hint"), 180), halves, then)

    halves = (Half(say("north"), 1), Half(say("south"), -1))
    _ask(shell, "latitude", (say("latitude"), say("latitude_hint"), 90), halves, longitude)


def _ask(shell: Any, key: str, said: tuple[str, str, int], halves: tuple[Half, Half], then: Callable[[], None]) -> None:
    title, hint, most = said

    def number(half: Half) -> None:
        shell.open_number(
            f"{title}, {half.words}", hint=say("degrees_hint"), by_keypad=True, whole=False, minimum=0, maximum=most,
            unit="°", then=lambda degrees: shell.ask("change_setting", key, half.sign * degrees, then=lambda _: then()),
        )  # fmt: skip

    shell.open_choices(title, [(half, half.words, "place") for half in halves], number, hint)


__all__ = ["Half", "ask_place"]
