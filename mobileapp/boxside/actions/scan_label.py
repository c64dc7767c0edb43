"""The box that a photo of its lid shows."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from boxside.actions.services import Services
from boxside.core.measure.opencv import cv, is_available
from boxside.core.values.errors import DeviceError, EntryError
from boxside.store import reading

# A symbol is found best when it is neither tiny nor huge in the picture, so several sizes are tried.
_LONGER_SIDES_PX = (1400, 2400, 800, 1000, 600)


def check_scanning(services: Services) -> None:
    """Refuse where labels cannot be read, before a photo is taken for it.

    Raises
    ------
    DeviceError : where OpenCV is missing
    """
    if not is_available():
        raise DeviceError(
            "Labels cannot be read here: this build has no OpenCV. Nothing was changed. Choose the box on the shelf."
        )


def scan_label(services: Services, path: str) -> str:
    """Return the id of the open box whose label a photo shows.

    Raises
    ------
    EntryError : where no label is seen, none of a box of this log, or those of several boxes
    DeviceError : for a file that is no photo, and where OpenCV is missing
    """
    check_scanning(services)
    codes = codes_in(services.device.photos.read(Path(path)).data)
    if not codes:
        raise EntryError("No label is seen in the photo. Nothing was changed. Go closer, and hold still.")
    found = {box.id: box.shown for code in codes for box in reading.boxes_labelled(services.store, code)}
    if not found:
        said = ", ".join(sorted(code[:20] for code in codes))
        raise EntryError(f"No open box has the code {said}. Nothing was changed. Choose the box on the shelf.")
    if len(found) > 1:
        raise EntryError(
            f"The photo shows the labels of {' and '.join(sorted(found.values()))}. Nothing was changed. "
            "Go closer to one."
        )
    return next(iter(found))


def codes_in(photo: bytes) -> set[str]:
    """Return the texts of all QR symbols that are seen in a photo, blanks around them left out."""
    grey = cv().imdecode(np.frombuffer(photo, np.uint8), cv().IMREAD_GRAYSCALE)
    if grey is None:
        raise DeviceError("The photo cannot be read. Nothing was changed. Take it again.")
    # Each of OpenCV's two detectors misses some symbols that the other one reads.
    detectors = cv().QRCodeDetector(), cv().QRCodeDetectorAruco()
    for sized in _sizes(grey):
        for detector in detectors:
            is_found, texts, _, _ = detector.detectAndDecodeMulti(sized)
            codes = {text.strip() for text in texts if text.strip()} if is_found else set()
            if codes:
                return codes
    return set()


def _sizes(grey: Any) -> Iterator[Any]:
    longer = max(grey.shape)
    for side in _LONGER_SIDES_PX:
        share = side / longer
        if share < 1:
            yield cv().resize(grey, None, fx=share, fy=share, interpolation=cv().INTER_AREA)
    if longer <= max(_LONGER_SIDES_PX):
        yield grey
