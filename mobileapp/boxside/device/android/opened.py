"""How the app was opened: by its icon, or by a tap on a nudge that wants Round."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any

from boxside.device.android.jni import activity

EXTRA = "boxside_place"
PLACES = ("round",)


def place() -> str:
    """Return the place that the intent which started the app asks for, empty where it names none."""
    return _place_of(activity().getIntent())


def on_place(then: Callable[[str], None]) -> None:
    """Have `then` called with the place whenever a nudge is tapped while the app is there."""

    def came(intent: Any) -> None:
        if wanted := _place_of(intent):
            then(wanted)

    import_module("android.activity").bind(on_new_intent=came)


def _place_of(intent: Any) -> str:
    found = intent.getStringExtra(EXTRA) if intent is not None else None
    return str(found) if found in PLACES else ""
