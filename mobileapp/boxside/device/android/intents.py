"""Other apps asked for something: an intent goes out, its answer comes back to the one who asked."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from importlib import import_module
from itertools import count
from pathlib import Path
from typing import Any

from boxside.core.values.errors import BoxsideError, DeviceError
from boxside.device.android.jni import activity, told

_RESULT_OK = -1
_FIRST_CODE = 7400
Back = Callable[[Callable[[], None]], None]
Work = Callable[[Callable[[], None], Callable[[], None]], None]


def one_by_one(call: Callable[[], None], then: Callable[[], None]) -> None:
    """Make a call, then another; the app puts its own way to the worker and back in this place."""
    call()
    then()


def at_once(call: Callable[[], None]) -> None:
    """Make a call where one stands; the app puts its own way to the drawing thread in this place."""
    call()


def raise_it(error: BoxsideError) -> None:
    """Raise an error; the app puts its own way to tell the person in this place."""
    raise error


class Answers:
    """Remembers who asked.

    `back` brings an answer to the thread that draws, `work` has what takes long done elsewhere and goes on from
    there, `tell` brings an error to the person.
    """

    def __init__(self) -> None:
        self.back: Back = at_once
        self.work: Work = one_by_one
        self.tell: Callable[[BoxsideError], None] = raise_it
        self._waiting: dict[int, Callable[[Any], None]] = {}
        self._codes = count(_FIRST_CODE)
        self._is_bound = False

    def ask(self, intent: Any, then: Callable[[Any], None], where_none: str) -> None:
        """Send an intent; `then` gets the answer's intent, not at all when the person cancels.

        Raises
        ------
        DeviceError : if no app on the phone takes it, beginning with `where_none`
        """
        self._bind()
        code = next(self._codes)
        self._waiting[code] = then
        try:
            with told(where_none, "Install or allow an app for it."):
                activity().startActivityForResult(intent, code)
        except DeviceError:
            del self._waiting[code]
            raise

    def _bind(self) -> None:
        if not self._is_bound:
            import_module("android.activity").bind(on_activity_result=self.came)
            self._is_bound = True

    def came(self, code: int, result: int, data: Any) -> None:
        """Take an answer; others' codes and what was cancelled go nowhere."""
        then = self._waiting.pop(code, None)
        if then is not None and result == _RESULT_OK:
            self.back(lambda: self._deliver(then, data))

    def _deliver(self, then: Callable[[Any], None], data: Any) -> None:
        try:
            then(data)
        except BoxsideError as error:
            self.tell(error)


def copy_in(uri: Any, path: Path) -> None:
    """Copy what a `content://` address stands for into a file of ours."""
    with told("The file could not be read", "Choose it again."):
        handle = activity().getContentResolver().openFileDescriptor(uri, "r").detachFd()
    with os.fdopen(handle, "rb") as source, path.open("wb") as target:
        shutil.copyfileobj(source, target, 1 << 20)


def copy_out(path: Path, uri: Any) -> None:
    """Copy a file of ours to a `content://` address, in place of what was there."""
    with told("The file could not be written", "Choose another place."):
        handle = activity().getContentResolver().openFileDescriptor(uri, "wt").detachFd()
    with path.open("rb") as source, os.fdopen(handle, "wb") as target:
        shutil.copyfileobj(source, target, 1 << 20)
        target.flush()
