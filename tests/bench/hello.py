"""A bare Kivy window that says hello: python hello.py FILE. Writes when its first picture was drawn, then leaves.

It has the driver, size and density of the app's own probe, one label, and nothing of Boxside.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from pathlib import Path


def main(file: Path) -> None:
    """Draw one label and write the time of the clock that a process's start is measured by."""
    os.environ.update(KIVY_NO_ARGS="1", KIVY_NO_CONFIG="1", KIVY_NO_FILELOG="1", KIVY_LOG_MODE="PYTHON")
    os.environ.update(SDL_VIDEODRIVER="offscreen", KIVY_CLIPBOARD="dummy", KIVY_METRICS_DENSITY="3")
    os.environ["KIVY_HOME"] = tempfile.mkdtemp(dir=file.parent)
    from kivy.config import Config

    for key, value in (("width", "1080"), ("height", "2340"), ("maxfps", "0"), ("multisamples", "2")):
        Config.set("graphics", key, value)
    for name, _ in Config.items("input"):
        Config.remove_option("input", name)
    from kivy.app import App
    from kivy.base import EventLoop, runTouchApp
    from kivy.uix.label import Label

    class Hello(App):
        def build(self) -> Label:
            return Label(text="Hello")

    EventLoop.ensure_window()
    Hello()._run_prepare()
    runTouchApp(embedded=True)
    EventLoop.idle()
    EventLoop.idle()
    file.write_text(json.dumps({"first_box_at_s": time.clock_gettime(time.CLOCK_MONOTONIC)}), encoding="utf-8")
    EventLoop.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
