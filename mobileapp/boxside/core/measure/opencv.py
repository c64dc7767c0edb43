"""OpenCV, loaded only when a photo is measured: the app starts without it.

Only the modules that python-for-android's recipe builds are used (core, imgproc, calib3d, objdetect,
features2d, photo), in calls that OpenCV 4 and 5 share.
"""

from __future__ import annotations

import importlib
import importlib.util
from functools import cache
from typing import Any


def is_available() -> bool:
    """Return whether OpenCV is installed, without loading it."""
    return importlib.util.find_spec("cv2") is not None


@cache
def cv() -> Any:
    """Return OpenCV.

    Raises
    ------
    ImportError
        Where it is not installed; ask `is_available` first.
    """
    return importlib.import_module("cv2")
