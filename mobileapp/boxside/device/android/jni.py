"""Java from Python, loaded when it is first called: this package can be imported where there is no Java."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any

from boxside.core.values.errors import DeviceError

ACTIVITY = "org.kivy.android.PythonActivity"


def java(name: str) -> Any:
    """Return a Java class by its full name."""
    return import_module("jnius").autoclass(name)


def cast(name: str, thing: Any) -> Any:
    """Return a Java object seen as one of its classes or interfaces."""
    return import_module("jnius").cast(name, thing)


def activity() -> Any:
    """Return the app's one activity."""
    return java(ACTIVITY).mActivity


def context() -> Any:
    """Return the app's context, which outlives the activity."""
    return activity().getApplicationContext()


def api_level() -> int:
    """Return which Android this is, as its level of the programming interface."""
    return int(java("android.os.Build$VERSION").SDK_INT)


def on_ui_thread(call: Callable[[], None]) -> None:
    """Have a call made on Android's own thread of the screen, which views insist on."""
    import_module("android.runnable").Runnable(call)()


def leave_thread() -> None:
    """Take the thread off Java; Android ends the whole app with an error where one ends without this."""
    import_module("jnius").detach()


@contextmanager
def told(what: str, do: str) -> Iterator[None]:
    """Turn what Java throws into an error that says what happened and what to do."""
    try:
        yield
    except Exception as error:
        # pyjnius raises JavaException for all of Java's errors; where there is no pyjnius there is no such class.
        if type(error).__name__ != "JavaException":
            raise
        raise DeviceError(f"{what} ({error}). Nothing was changed. {do}") from error
