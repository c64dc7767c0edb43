"""From nothing to the first due box, against a window that only says hello."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

_HELLO = """
import os, sys, time
os.environ.update(KIVY_NO_ARGS="1", KIVY_NO_CONFIG="1", KIVY_NO_FILELOG="1", KIVY_LOG_MODE="PYTHON")
from kivy.config import Config
Config.set("graphics", "width", "1080"); Config.set("graphics", "height", "2340")
for name, _ in Config.items("input"):
    Config.remove_option("input", name)
from kivy.app import App
from kivy.clock import Clock
from kivy.uix.label import Label
class Hello(App):
    def load_kv(self, filename=None):
        pass
    def build(self):
        Clock.schedule_once(lambda _: Clock.schedule_once(lambda _: self.stop(), 0), 0)
        return Label(text="hello")
Hello().run()
"""
_APP = "import sys; from boxside.app.phone import run; sys.exit(run(sys.argv[1:]))"


def _run(*arguments: str) -> None:
    home = tempfile.mkdtemp(prefix="boxside-bench-")
    env = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "KIVY_HOME": home, "KIVY_CLIPBOARD": "dummy"}
    env["PYTHONPATH"] = os.pathsep.join([str(Path(__file__).parents[2] / "mobileapp"), env.get("PYTHONPATH", "")])
    subprocess.run([sys.executable, "-c", *arguments], check=True, env=env, capture_output=True)


def hello() -> Callable[[], object]:
    """Return the floor: bare Kivy, a window of the same size, one label, closed after its first frames."""
    return lambda: _run(_HELLO)


def first_box(data: Path) -> Callable[[], object]:
    """Return the app on a log, ended as soon as the first due box shows."""

    def act() -> None:
        probe = data / f"probe-{time.perf_counter_ns()}.txt"
        _run(_APP, "--data", str(data), "--probe", str(probe))
        if not probe.exists():
            raise RuntimeError("the app did not say when its first box showed")
        probe.unlink()

    return act
