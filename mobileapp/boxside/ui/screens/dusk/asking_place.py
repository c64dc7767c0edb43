"""Asks for latitude and longitude by keypad, without a sign: north or south, east or west."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.ui.words import say

HALVES = {"latitude": ("north", "south", 90), "longitude": ("east", "west", 180)}


def ask_place(shell: Any, then: Callable[[], None]) -> None:
    """Ask for both, save each, then go on."""
    _ask(shell, "latitude", lambda: _ask(shell, "longitude", then))


def _ask(shell: Any, key: str, then: Callable[[], None]) -> None:
    positive, negative, most = HALVES[key]

    def save(degrees: float, half: str) -> None:
        value = degrees if half == positive else -degrees
        shell.ask("change_setting", key, value, then=lambda _: then())

    def number(half: str) -> None:
        shell.open_number(
            f"{say(key)}, {say(half)}", hint=say("degrees_hint"), by_keypad=True, whole=False, minimum=0, maximum=most,
            unit="°", then=lambda degrees: save(degrees, half),
        )  # fmt: skip

    items = [(half, say(half), "place") for half in (positive, negative)]
    shell.open_choices(say(key), items, number, say(f"{key}_hint"))


__all__ = ["ask_place"]
