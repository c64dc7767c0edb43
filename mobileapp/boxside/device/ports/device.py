"""All parts of one device."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from boxside.device.ports.chance import Chance
from boxside.device.ports.clock import Clock
from boxside.device.ports.files import Files
from boxside.device.ports.haptics import Haptics
from boxside.device.ports.light import Light
from boxside.device.ports.nudges import Nudges
from boxside.device.ports.photos import Photos


@dataclass(frozen=True, slots=True)
class Device:
    """What the app is given of the device it runs on; `data_dir` is where the log and photos are."""

    clock: Clock
    chance: Chance
    haptics: Haptics
    light: Light
    nudges: Nudges
    photos: Photos
    files: Files
    data_dir: Path
    name: str = "desktop"
