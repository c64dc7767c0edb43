"""Merges an archive in the real app while somebody taps at random; writes how long the screen was deaf, as JSON.

python -m tests.bench.stalling DATA ARCHIVE OUT.json
"""

from __future__ import annotations

import json
import os
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

FRAME_S = 1 / 60
TAP_FRAMES = 7
IDLE_FRAMES = 600
LIMIT_S = 1800.0


class Watcher:
    """Lets frames pass as the event loop would, but for the drawing, and keeps how late each of them is over."""

    def __init__(self) -> None:
        self.chance = random.Random(1)
        self.touch: Any = None

    def until(self, is_over: Callable[[int], bool], has_taps: bool = True) -> list[float]:
        """Return by how many seconds each frame was longer than it should be."""
        from tests.ui.ticking import ticks

        late: list[float] = []
        began = time.perf_counter()
        while not is_over(len(late)) and time.perf_counter() - began < LIMIT_S:
            start = time.perf_counter()
            if has_taps:
                self._tap(len(late))
            ticks(1)
            busy = time.perf_counter() - start
            time.sleep(max(0.0, FRAME_S - busy))
            late.append(time.perf_counter() - start - FRAME_S)
        return late

    def _tap(self, frame: int) -> None:
        """Touch down and up by turns, anywhere but on what stops the work."""
        from kivy.core.window import Window
        from kivy.tests.common import UnitTestTouch

        if frame % TAP_FRAMES:
            return
        if self.touch is None:
            x, y = self.chance.random() * Window.width, (0.25 + 0.75 * self.chance.random()) * Window.height
            self.touch = UnitTestTouch(x, y)
            self.touch.touch_down()
        else:
            self.touch.touch_up()
            self.touch = None


def measure(data: str, archive: str) -> dict[str, Any]:
    """Return the lateness of frames while nothing goes on, during the look at an archive, and during its merge."""
    from boxside.actions.watching import Watch
    from boxside.app import wiring
    from boxside.app.frame import BoxsideApp
    from boxside.device.folders import bundled
    from boxside.ui.widgets.working import WorkingSheet
    from tests.ui.scenes import shown

    with shown(BoxsideApp(wiring.build(data), bundled("assets"))) as app:
        watcher, shell = Watcher(), app.shell
        watcher.until(lambda n: shell.page is not None and n > 200, has_taps=False)
        shell.go("keep")
        # The same sheet without work behind it, so that taps do nothing there either.
        sheet = WorkingSheet(title="Idle", watch=Watch("entries read", 1, 2), can_stop=False)
        shell.open_sheet(sheet)
        # The first frames load what taps and sheets need.
        watcher.until(lambda n: n > 60)
        idle = watcher.until(lambda n: n >= IDLE_FRAMES)
        sheet.close()
        shell.built["keep"].archives.look_to_merge(archive)
        looking = watcher.until(lambda _: _answered(shell))
        if not getattr(shell.sheet, "yes", ""):
            raise AssertionError(f"it cannot be merged: {getattr(shell.sheet, 'what', '')}")
        shell.sheet.go_on()
        merging = watcher.until(lambda _: _answered(shell))
        said = shell.sheet.what
    return {"said": said, **{name: _told(late) for name, late in
                             (("idle", idle), ("looking", looking), ("merging", merging))}}  # fmt: skip


def _answered(shell: Any) -> bool:
    return shell.sheet is not None and type(shell.sheet).__name__ != "WorkingSheet"


def _told(late: list[float]) -> dict[str, float]:
    ordered = sorted(late)
    return {"n": len(late), "worst_s": ordered[-1], "p99_s": ordered[int(len(ordered) * 0.99)]}


def main() -> None:
    """Measure, and write what came of it."""
    from boxside.app.phone import prepare_kivy

    data, archive, out = sys.argv[1:]
    os.environ.update(KIVY_METRICS_DENSITY="1", KIVY_METRICS_FONTSCALE="1")
    prepare_kivy(True, (360, 780))
    Path(out).write_text(json.dumps(measure(data, archive)), encoding="utf-8")


if __name__ == "__main__":
    main()
