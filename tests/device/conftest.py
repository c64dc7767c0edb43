"""A session bus of the tests' own, without the services that are installed on this computer."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
DESK = Path(__file__).with_name("desk.py")
INSTALL = "apt-get install -y --no-install-recommends dbus libnotify-bin"
CONFIG = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>session</type>
  <listen>unix:tmpdir=/tmp</listen>
  <servicedir>{services}</servicedir>
  <policy context="default">
    <allow send_destination="*" eavesdrop="true"/>
    <allow eavesdrop="true"/>
    <allow own="*"/>
  </policy>
</busconfig>
"""


@dataclass(frozen=True, slots=True)
class Ended:
    """What a command on a desktop gave back, and the messages that arrived there."""

    status: int
    out: str
    err: str
    shown: list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Desktop:
    """A session with a bus; `services` is the folder of services that its bus may start."""

    folder: Path

    @property
    def services(self) -> Path:
        return self.folder / "services"

    def startable(self, command: str) -> None:
        """Let the bus start a command as the notification service."""
        text = f"[D-BUS Service]\nName=org.freedesktop.Notifications\nExec={command}\n"
        (self.services / "notifications.service").write_text(text, encoding="utf-8")

    def run(self, mode: str, *command: str) -> Ended:
        """Run a command in the session, with a service of a mode (see `desk.py`)."""
        words = ["dbus-run-session", "--config-file", str(self.folder / "bus.conf"), "--"]
        place = {**os.environ, "PYTHONPATH": str(ROOT / "mobileapp")}
        done = subprocess.run(
            [*words, sys.executable, str(DESK), mode, *command],
            env=place, capture_output=True, text=True, check=False, timeout=90,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return Ended(**json.loads(done.stdout.splitlines()[-1]))


def missing_parts() -> str:
    """Return why nothing can be delivered over a bus here, empty where it can."""
    if not sys.platform.startswith("linux"):
        return "delivery over D-Bus needs Linux"
    missing = [name for name in ("dbus-run-session", "notify-send") if shutil.which(name) is None]
    return f"{' and '.join(missing)} missing: {INSTALL}" if missing else ""


def need_bus() -> None:
    """Skip where the bus cannot be had, and fail where tests of what is seen must run."""
    if why := missing_parts():
        if os.environ.get("BOXSIDE_SCREENS_MUST_RUN"):
            pytest.fail(why)
        pytest.skip(why)


@pytest.fixture
def desktop(tmp_path: Path) -> Desktop:
    """A desktop's session, its bus knowing no services."""
    need_bus()
    (tmp_path / "session" / "services").mkdir(parents=True)
    made = Desktop(tmp_path / "session")
    (made.folder / "bus.conf").write_text(CONFIG.format(services=made.services), encoding="utf-8")
    return made
