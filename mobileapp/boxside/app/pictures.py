"""Runs the app without a display: draws its screens, or measures when the first due box shows."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from kivy.base import EventLoop, runTouchApp
from kivy.core.window import Window

from boxside.core.values.errors import DeviceError

PATIENCE_S = 20.0


def begin(app: Any) -> None:
    """Start an app up to its first frame without entering its endless loop."""
    EventLoop.ensure_window()
    app._run_prepare()
    runTouchApp(embedded=True)


def wait(ready: Callable[[], bool]) -> None:
    """Draw frames until `ready`; DeviceError after twenty seconds."""
    end = time.monotonic() + PATIENCE_S
    while not ready():
        if time.monotonic() > end:
            raise DeviceError("The screen did not show within 20 seconds. Nothing was changed.")
        EventLoop.idle()


def frames(n: int = 4) -> None:
    """Draw that many frames."""
    for _ in range(n):
        EventLoop.idle()


def draw(
    app: Any, folder: Path, names: Sequence[str], more: Mapping[str, Callable[[Any], None]] | None = None
) -> list[Path]:
    """Draw screens into PNG files named after them, and `more` with what leads there; returns the files."""
    folder.mkdir(parents=True, exist_ok=True)
    begin(app)
    wait(lambda: app.shell.page is not None)
    done = [_shot(folder / f"{name}.png") for name in names if _go(app, name)]
    for name, go in (more or {}).items():
        go(app)
        done.append(_shot(folder / f"{name}.png"))
    app.stop()
    return done


def _shot(path: Path) -> Path:
    frames()
    Path(Window.screenshot(name=str(path))).replace(path)
    return path


def _go(app: Any, name: str) -> bool:
    if name == "box":
        if not getattr(app.shell.built.get("round"), "code", ""):
            return False
        app.shell.built["round"].open_box()
        wait(lambda: bool(app.shell.page.title))
        return True
    app.shell.go(name)
    wait(lambda: getattr(app.shell.page, "view", True) is not None)
    return True


def probe(app: Any, file: Path) -> None:
    """Write when the first due box showed: seconds of the clock that a process's start is measured by."""
    begin(app)
    wait(lambda: getattr(app.shell.page, "view", None) is not None)
    frames(1)
    shown = {"first_box_at_s": time.clock_gettime(time.CLOCK_MONOTONIC), "box": app.shell.page.code}
    file.write_text(json.dumps(shown), encoding="utf-8")
    app.stop()


__all__ = ["begin", "draw", "frames", "probe", "wait"]
