"""nudge, open, demo."""

from __future__ import annotations

import argparse
import ctypes.util
import os
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

from boxside.actions import demo_colony, describe, export_season, list_due, log_event, post_nudge
from boxside.actions.entry import box_label
from boxside.actions.services import Services
from boxside.actions.wording import day_text
from boxside.cli.options import Command, Context
from boxside.core.values.errors import DeviceError
from boxside.core.values.event import Draft

APP = "import sys; from boxside.app.phone import run; sys.exit(run(sys.argv[1:]))"
GL_ADVICE = "apt-get install -y --no-install-recommends libgl1 libegl1"
_DRAW_FOR_S = 240


def _nudge(context: Context) -> int:
    view = post_nudge.post_nudge(context.services())
    lines = [view.title, *(f"  {line}" for line in view.lines)] if view.title else ["Nothing is due today."]
    data = {"on": view.day.isoformat(), "title": view.title, "lines": list(view.lines), "posted": view.posted}
    context.say("\n".join(lines), data)
    if view.notice:
        print(f"boxside: {view.notice.what} {view.notice.do}", file=sys.stderr)
        return 1
    return 0


def _open(context: Context) -> int:
    if missing := missing_gl():
        raise DeviceError(f"The app cannot open a window: {missing}. Install it: {GL_ADVICE}")
    services = context.services()
    folder = str(services.device.data_dir)
    context.close()
    return subprocess.run([sys.executable, "-c", APP, "--data", folder], check=False).returncode


def _demo_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", metavar="DIR", help="where the export and the pictures go (default: a fresh folder)")


def _demo(context: Context) -> int:
    asked = context.asked
    context.on()  # a day that is none is refused before an earlier demo goes
    fresh = Path(tempfile.mkdtemp(prefix="boxside-demo-")) if not (asked.data and asked.out) else Path()
    data, out = Path(asked.data or fresh / "data"), Path(asked.out or fresh / "out")
    demo_colony.make_room(data, out / "season")
    context.asked.data = str(data)
    services = context.services()
    demo_colony.fill(services)
    _show(context, services)
    exported = export_season.export_season(services, out / "season")
    print(f"\nThe season as CSV: {exported.path}")
    print("\n".join(f"  {n:7,} {name}" for name, n in exported.rows))
    print(f"  {len(exported.plots):7,} pictures in plots/")
    context.close()
    return _start_app(data, out, context.on())


def _show(context: Context, services: Services) -> None:
    """Do the main job once, in words."""
    print("An invented colony of common glow-worms: 24 boxes, two seasons.\n")
    print("\n".join(describe.round_lines(services)))
    if box := list_due.next_to_feed(services):
        print(f"\nBefore: {box_label(services, box)}  {list_due.due_text(services, box, 'feed')}")
        log_event.log_event(services, Draft("fed", "box", box, {"prey": "garden snail"}))
        print(f"Fed:    {box_label(services, box)}  {list_due.due_text(services, box, 'feed')}")
    print("\nThe next nudges, if nothing else is done:")
    for digest in post_nudge.planned(services).digests[:4]:
        print(f"  {day_text(digest.day, date.min)} {digest.at_local[11:]}  {digest.title}")
        print("\n".join(f"      {line}" for line in digest.lines))


def _start_app(data: Path, out: Path, on: date | None) -> int:
    """Start the app as a process of its own; without a display have it draw its screens instead."""
    if missing := missing_gl():
        print(f"\nThe app was not started: {missing}. Install it: {GL_ADVICE}")
        return 0
    run = [sys.executable, "-c", APP, "--data", str(data), *(["--on", on.isoformat()] if on else [])]
    if has_display():
        subprocess.Popen(run, start_new_session=True)
        print(f"\nThe app is opening on this colony. Log: {data}")
        return 0
    screens = out / "screens"
    drawn = subprocess.run(
        [*run, "--screens", str(screens)], check=False, capture_output=True, text=True, timeout=_DRAW_FOR_S
    )
    if drawn.returncode:
        print(f"boxside: the screens were not drawn: {drawn.stderr.strip()[-600:]}", file=sys.stderr)
        return 1
    print("\nNo display here, so the screens were drawn:")
    print("\n".join(f"  {path}" for path in sorted(screens.glob("*.png"))))
    print(f"Log: {data}")
    return 0


def has_display() -> bool:
    """Return whether a window can be shown to a person."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def missing_gl() -> str:
    """Return which graphics library is missing on Linux, empty where all are there."""
    if not sys.platform.startswith("linux"):
        return ""
    missing = [f"lib{name}" for name in ("GL", "EGL") if ctypes.util.find_library(name) is None]
    return f"{' and '.join(missing)} missing" if missing else ""


NUDGE = Command("show today's nudge on this desktop, for a timer to run", _nudge)
OPEN = Command("open the app on your own data", _open)
DEMO = Command("try Boxside on an invented colony, in a folder of its own", _demo, _demo_options)
