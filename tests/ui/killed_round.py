"""One run of the real app, with its worker thread, driven by a script of touches; a test may kill it.

python -m tests.ui.killed_round DATA DAY THEME STEP...

A step is what to tap; `~` before it: say so and do not wait for the save. Each step is told on standard
output once it is done; at the end the code of the box that shows, and whether any pixel had green or blue.
"""

from __future__ import annotations

import sys
import time
from datetime import date
from pathlib import Path
from typing import Any

PATIENCE_S = 30


def main(data: str, day: str, theme: str, *steps: str) -> None:
    """Run the app and follow the script."""
    from boxside.app.phone import prepare_kivy

    prepare_kivy(True, (360, 780))
    from boxside.app import wiring
    from boxside.app.frame import BoxsideApp
    from boxside.device.folders import bundled
    from boxside.ui.screens.round import round as round_screen
    from tests.ui.driver import Driver
    from tests.ui.scenes import shown

    # A slow machine must not be overtaken by the next box between two touches.
    round_screen.TICK_S = 5.0
    services = wiring.build(data, on=date.fromisoformat(day))
    colours: set[str] = set()
    with shown(BoxsideApp(services, bundled("assets"), theme=theme)) as app:
        driver = Driver(app)
        wait(lambda: bool(getattr(driver.page, "view", None)))
        for step in steps:
            follow(driver, step)
            print(f"done {step}", flush=True)
            colours |= other_colours(Path(data) / "shot.png")
        print(f"box {driver.page.view.label}", flush=True)
        print(f"colours {''.join(sorted(colours)) or 'red'}", flush=True)
    services.store.close()


def follow(driver: Any, step: str) -> None:
    """Tap what a step names and wait for what it brings."""
    from boxside.app.pictures import frames

    if step.startswith("await "):
        wait(lambda: driver.page.view.label == step.removeprefix("await "))
        return
    driver.tap(step.removeprefix("~"))
    if step.startswith("~"):
        return
    asked = driver.app.desk._worker.submit(lambda: None)
    wait(asked.done)
    frames(6)


def wait(condition: Any) -> None:
    """Let frames pass until a condition holds."""
    from boxside.app.pictures import frames

    end = time.monotonic() + PATIENCE_S
    while not condition():
        if time.monotonic() > end:
            raise TimeoutError("nothing came of it")
        frames(1)


def other_colours(path: Path) -> set[str]:
    """Return which of green and blue the window shows."""
    from kivy.core.window import Window
    from PIL import Image

    from boxside.app.pictures import frames

    frames(2)
    written = Path(Window.screenshot(name=str(path)))
    with Image.open(written) as image:
        _, green, blue = image.convert("RGB").split()
        found = {name for name, band in (("g", green), ("b", blue)) if band.getextrema()[1] > 0}
    written.unlink()
    return found


if __name__ == "__main__":
    main(*sys.argv[1:])
