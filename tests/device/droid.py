"""A fake phone: `jnius` and `android` as modules that record what they are asked."""

from __future__ import annotations

import os
import sys
import types
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any


class JavaException(Exception):  # noqa: N818  pyjnius calls it so
    """What pyjnius raises for all of Java's errors."""


class Thing:
    """A Java object or class: every call is recorded; `answers` gives results, else another Thing."""

    def __init__(self, droid: Droid, name: str) -> None:
        self._droid, self._name = droid, name

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        full = f"{self._name}.{name}"
        if full in self._droid.fields:
            return self._droid.fields[full]
        return Thing(self._droid, full)

    def __call__(self, *args: Any) -> Any:
        self._droid.calls.append((self._name, args))
        answer = self._droid.answers.get(self._name)
        if isinstance(answer, Exception):
            raise answer
        if callable(answer):
            return answer(*args)
        return Thing(self._droid, f"{self._name}()") if answer is None else answer


@dataclass
class Droid:
    """The phone; what is not answered is another thing."""

    files: Path
    level: int = 34
    calls: list[tuple[str, tuple[Any, ...]]] = field(default_factory=list)
    answers: dict[str, Any] = field(default_factory=dict)
    fields: dict[str, Any] = field(default_factory=dict)
    bound: dict[str, Callable[..., None]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        activity = "org.kivy.android.PythonActivity.mActivity"
        context = f"{activity}.getApplicationContext()"
        self.answers |= {
            f"{context}.getFilesDir().getAbsolutePath": str(self.files),
            f"{context}.getCacheDir().getAbsolutePath": str(self.files.parent / "cache"),
            f"{context}.getPackageName": "org.boxside.boxside",
            "java.util.TimeZone.getDefault().getID": "Europe/Berlin",
            "org.boxside.nudge.Nudges.sync": "",
            "org.boxside.nudge.Nudges.areAllowed": True,
        }
        self.fields["android.os.Build$VERSION.SDK_INT"] = self.level
        self.activity, self.context = activity, context

    def said(self, ending: str) -> list[tuple[Any, ...]]:
        """The arguments of every call whose name ends so."""
        return [args for name, args in self.calls if name.endswith(ending)]

    def install(self, monkeypatch: Any) -> None:
        """Put the fake modules where Python looks for them."""
        jnius = types.ModuleType("jnius")
        jnius.autoclass = lambda name: Thing(self, name)  # type: ignore[attr-defined]
        jnius.cast = lambda name, thing: thing  # type: ignore[attr-defined]
        jnius.JavaException = JavaException  # type: ignore[attr-defined]
        runnable = types.ModuleType("android.runnable")
        runnable.Runnable = lambda call: call  # type: ignore[attr-defined]
        activity = types.ModuleType("android.activity")
        activity.bind = lambda **to: self.bound.update(to)  # type: ignore[attr-defined]
        for name, module in (
            ("jnius", jnius), ("android", types.ModuleType("android")), ("android.runnable", runnable),
            ("android.activity", activity),
        ):  # fmt: skip
            monkeypatch.setitem(sys.modules, name, module)

    def lends_file(self, data: bytes) -> None:
        """Have a `content://` address read as these bytes."""

        def handle(*_: Any) -> Thing:
            read, write = os.pipe()
            os.write(write, data)
            os.close(write)
            self.answers["handle.detachFd"] = read
            return Thing(self, "handle")

        self.answers[f"{self.activity}.getContentResolver().openFileDescriptor"] = handle
