"""Photos read with Pillow: to the last byte, upright, and without what the camera noted beside them."""

from __future__ import annotations

import io
import warnings
from pathlib import Path

from PIL import Image

from boxside.core.values.errors import DeviceError
from boxside.device.arrays import FORMATS, upright
from boxside.device.ports.photos import Picture

MAX_BYTES = 60_000_000
MAX_PIXELS = 120_000_000


def read_picture(path: Path) -> Picture:
    """Return the photo at `path` as JPEG bytes without metadata; DeviceError where it cannot be read."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise DeviceError(f"{path.name} is larger than 60 MB. Nothing was kept. Choose a smaller photo.")
        with warnings.catch_warnings():
            # Pillow warns of large photos (ours is the limit below), of odd notes, and before it refuses a torn file.
            warnings.simplefilter("ignore")
            return _upright(path)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise DeviceError(
            f"{path.name} cannot be read as a photo ({error}). Nothing was kept. Choose a whole JPEG or PNG."
        ) from error


def _upright(path: Path) -> Picture:
    with Image.open(path, formats=FORMATS) as image:
        if image.width * image.height > MAX_PIXELS:
            raise DeviceError(
                f"{path.name} has more than {MAX_PIXELS // 1_000_000} megapixels. Nothing was kept. "
                "Choose a smaller photo."
            )
        # load() reads to the end; verify() would let a truncated photo pass.
        image.load()
        turned = upright(image)
    # Pillow writes on what an image carries along, such as a comment: only the pixels are to go on.
    turned.info.clear()
    kept = io.BytesIO()
    turned.save(kept, "JPEG", quality=92)
    return Picture(kept.getvalue(), turned.width, turned.height)


def photo_fault(path: Path) -> str:
    """Return why a file is no whole photo that can be kept; empty where it is one.

    It is decoded at an eighth of its size: that reads every byte of it, and is quick.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path, formats=("JPEG",)) as image:
                if image.width * image.height > MAX_PIXELS:
                    return f"has more than {MAX_PIXELS // 1_000_000} megapixels"
                image.draft("RGB", (max(1, image.width // 8), max(1, image.height // 8)))
                image.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        return f"is no whole photo ({error})"
    return ""
