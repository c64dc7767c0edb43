"""The desktop's parts."""

from __future__ import annotations

from pathlib import Path

from boxside.device.desktop.chance import SystemChance
from boxside.device.desktop.clock import SystemClock
from boxside.device.desktop.files import DesktopFiles
from boxside.device.desktop.nudges import DesktopNudges
from boxside.device.desktop.photos import DesktopPhotos
from boxside.device.desktop.quiet import NoHaptics, NoLight
from boxside.device.ports import Device


def default_data_dir() -> Path:
    """Return the folder for the keeper's data by the desktop's own rules."""
    from platformdirs import user_data_path

    return user_data_path("boxside", appauthor=False)


def build(data_dir: Path) -> Device:
    """Return the desktop as a device whose log is in `data_dir`."""
    return Device(
        clock=SystemClock(),
        chance=SystemChance(),
        haptics=NoHaptics(),
        light=NoLight(),
        nudges=DesktopNudges(),
        photos=DesktopPhotos(),
        files=DesktopFiles(),
        data_dir=data_dir,
    )
