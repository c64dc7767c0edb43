"""A tap on a nudge, which wants Round; an app that is not there yet begins with Round anyway."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any

EXTRA = "boxside_place"
PLACES = ("round",)


def on_place(then: Callable[[str], None]) -> None:
    """Have `then` called with the place whenever a nudge is tapped while the app is there."""

    def came(intent: Any) -> None:
        if wanted := _place_of(intent):
            then(wanted)

    import_module("android.activity").bind(on_new_intent=came)


def _place_of(intent: Any) -> str:
    found = intent.getStringExtra(EXTRA) if intent is not None else None
    return str(found) if found in PLACES else ""
