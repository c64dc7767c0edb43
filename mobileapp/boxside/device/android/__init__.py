"""The phone's parts, for Android 8 (API 26) and later; Java is loaded when a part is first used."""

from __future__ import annotations

from pathlib import Path

from boxside.core.values.errors import DeviceError
from boxside.device.android.alarms import AndroidNudges
from boxside.device.android.chance import AndroidChance
from boxside.device.android.clock import AndroidClock
from boxside.device.android.files import AndroidFiles
from boxside.device.android.haptics import AndroidHaptics
from boxside.device.android.intents import Answers
from boxside.device.android.jni import context
from boxside.device.android.light import AndroidLight
from boxside.device.android.photos import AndroidPhotos
from boxside.device.ports import Device


def private_files() -> Path:
    """Return the app's private folder, which stays over updates and goes with the app."""
    return Path(str(context().getFilesDir().getAbsolutePath()))


def default_data_dir() -> Path:
    """Return the folder for the keeper's data."""
    return private_files() / "boxside"


def build(data_dir: Path) -> Device:
    """Return the phone as a device whose log is in `data_dir`.

    Raises
    ------
    DeviceError : for a folder below `files/app`, which every update of the app deletes
    """
    files = private_files()
    if (files / "app") in (data_dir, *data_dir.parents):
        raise DeviceError(
            f"{data_dir} is deleted at every update of the app. Nothing was written. Use {files}/boxside."
        )
    answers = Answers()
    return Device(
        clock=AndroidClock(),
        chance=AndroidChance(),
        haptics=AndroidHaptics(),
        light=AndroidLight(),
        nudges=AndroidNudges(files),
        photos=AndroidPhotos(answers),
        files=AndroidFiles(answers),
        data_dir=data_dir,
        name="android",
    )
