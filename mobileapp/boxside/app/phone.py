"""The touch app: builds services and desk, shows the shell, follows the phone's coming and going."""

from __future__ import annotations

import argparse
import atexit
import gc
import logging
import os
import shutil
import sys
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

PICTURES = ("round", "shelf", "box", "settings")
PICTURE_SIZE = (1080, 2340)
PICTURE_DENSITY = "3"


def arguments(argv: Sequence[str]) -> argparse.Namespace:
    """Return what was asked for on the command line."""
    parser = argparse.ArgumentParser(prog="boxside-app", description="The touch app of Boxside.")
    parser.add_argument("--data", metavar="DIR", help="folder of the log; the app's own without it")
    parser.add_argument("--screens", metavar="DIR", help="draw Round, Shelf, Box and Settings into DIR, then leave")
    parser.add_argument("--probe", metavar="FILE", help="write when the first due box showed into FILE, then leave")
    parser.add_argument("--on", metavar="DATE", type=date.fromisoformat, help="stand on this day instead of now")
    parser.add_argument("--theme", choices=("day", "dim", "red"), help="this theme, whatever is set")
    return parser.parse_args(list(argv))


def prepare_kivy(is_offscreen: bool, size: tuple[int, int] | None = None) -> None:
    """Set what Kivy reads when it is first imported: no own arguments, no files in the home folder."""
    os.environ.setdefault("KIVY_NO_ARGS", "1")
    os.environ.setdefault("KIVY_NO_CONFIG", "1")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    # Kivy would take stderr for its own log, and tracebacks with it.
    os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
    if is_offscreen:
        if "KIVY_HOME" not in os.environ:
            os.environ["KIVY_HOME"] = home = tempfile.mkdtemp(prefix="boxside-kivy-")
            atexit.register(shutil.rmtree, home, ignore_errors=True)
        os.environ.update(SDL_VIDEODRIVER="offscreen", KIVY_CLIPBOARD="dummy")
        os.environ.setdefault("KIVY_METRICS_DENSITY", PICTURE_DENSITY)
    logging.getLogger("kivy").setLevel(logging.ERROR)
    from kivy.config import Config

    Config.set("kivy", "exit_on_escape", "0")
    Config.set("graphics", "multisamples", "2")
    if size is not None:
        Config.set("graphics", "width", str(size[0]))
        Config.set("graphics", "height", str(size[1]))
        Config.set("graphics", "maxfps", "0" if is_offscreen else "60")
    if "ANDROID_ARGUMENT" not in os.environ:
        # The mouse alone, and without the marks that stand for a second finger; others need system parts.
        for name, _ in Config.items("input"):
            Config.remove_option("input", name)
        Config.set("input", "mouse", "mouse,disable_multitouch")


def run(argv: Sequence[str] | None = None) -> int:
    """Run the touch app; returns the exit status."""
    # Nothing made while the app is loaded is garbage: looking for it would only delay the first box.
    gc.disable()
    asked = arguments(sys.argv[1:] if argv is None else argv)
    is_offscreen = bool(asked.screens or asked.probe)
    prepare_kivy(is_offscreen, PICTURE_SIZE if is_offscreen else None)
    # Only now may Kivy's window be loaded, since its size is fixed from then on.
    from boxside.app import wiring
    from boxside.app.frame import BoxsideApp
    from boxside.device.folders import bundled

    services = wiring.build(asked.data, asked.on)
    app: Any = BoxsideApp(services, bundled("assets"), theme=asked.theme)
    if asked.screens:
        from boxside.app.pictures import draw

        draw(app, Path(asked.screens), PICTURES)
    elif asked.probe:
        from boxside.app.pictures import probe

        probe(app, Path(asked.probe))
    else:
        app.run()
    return 0


__all__ = ["prepare_kivy", "run"]
