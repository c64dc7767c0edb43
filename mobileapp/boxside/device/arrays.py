"""Photos as arrays for measuring: read to the last byte, turned upright, grey, deep and transparent ones too."""

from __future__ import annotations

import io
import warnings
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from boxside.core.values.errors import DeviceError

Pixels = NDArray[np.uint8]

MOST_BYTES = 60_000_000
MAX_SIDE = 30_000
MOST_PIXELS = 120_000_000
# What cameras and phones write; Pillow knows more, of which some start programs of their own (EPS does).
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF")
_DEPTHS = (0xFF, 0x3FF, 0xFFF, 0x3FFF, 0xFFFF)
_FAULTS = (
    OSError, ValueError, SyntaxError, EOFError, MemoryError, Image.DecompressionBombError,
    Image.DecompressionBombWarning,
)  # fmt: skip


def read_array(path: Path) -> Pixels:
    """Return the photo at `path` as (rows, cols, 3) uint8, upright.

    Deep grey pictures are brought to 8 bits by the depth that their brightest pixel needs; transparent ones are
    laid over white; of several pictures in a file the first is taken.

    Raises
    ------
    DeviceError : for a file that is missing, no photo, truncated, or larger than is measured; says which
    """
    try:
        if path.is_dir():
            raise DeviceError(f"{path.name} is a folder, not a photo. Nothing was saved.")
        if path.stat().st_size > MOST_BYTES:
            raise DeviceError(f"{path.name} is larger than 60 MB. Nothing was saved. Choose a smaller photo.")
        return _decoded(path, path.name)
    except _FAULTS as error:
        raise _unreadable(path.name, error) from error


def array_of(data: bytes, name: str = "the photo") -> Pixels:
    """Return the photo in these bytes as `read_array` does.

    Raises
    ------
    DeviceError : as `read_array`
    """
    try:
        return _decoded(io.BytesIO(data), name)
    except _FAULTS as error:
        raise _unreadable(name, error) from error


def png_of(pixels: Pixels) -> bytes:
    """Return (rows, cols, 3) uint8 as the bytes of a PNG, packed lightly: it is shown, not kept."""
    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, "PNG", compress_level=1)
    return kept.getvalue()


def repacked(png: bytes, ending: str) -> bytes:
    """Return a PNG as what a file of that ending holds: a JPEG for .jpg and .jpeg, else the PNG itself."""
    if ending not in (".jpg", ".jpeg"):
        return png
    kept = io.BytesIO()
    with Image.open(io.BytesIO(png)) as image:
        image.convert("RGB").save(kept, "JPEG", quality=92)
    return kept.getvalue()


def shrunk(pixels: Pixels, longest_px: int) -> Pixels:
    """Return a picture whose longer side has at most so many pixels."""
    rows, cols = pixels.shape[:2]
    share = longest_px / max(rows, cols)
    if share >= 1:
        return pixels
    size = (max(1, round(cols * share)), max(1, round(rows * share)))
    return np.asarray(Image.fromarray(pixels).resize(size, Image.Resampling.BOX))


def _unreadable(name: str, error: BaseException) -> DeviceError:
    reason = " ".join(str(error).split()) or type(error).__name__
    return DeviceError(f"{name} cannot be read as a photo ({reason}). Nothing was saved.")


def _decoded(source: Path | io.BytesIO, name: str) -> Pixels:
    with warnings.catch_warnings():
        # The size is judged below, before a pixel is unpacked; a fault in the camera's notes is no fault of the photo.
        warnings.simplefilter("ignore")
        with Image.open(source, formats=FORMATS) as image:
            if max(image.size) > MAX_SIDE or image.width * image.height > MOST_PIXELS:
                raise DeviceError(
                    f"{name} has {image.width} x {image.height} pixels, more than are measured (120 megapixels). "
                    "Nothing was saved. Choose a smaller photo."
                )
            # load() reads to the end; verify() would let a truncated photo pass.
            image.load()
            return np.array(upright(image), np.uint8)


def upright(image: Image.Image) -> Image.Image:
    """Return a loaded picture of any mode as 8-bit RGB, turned as its camera noted."""
    image = ImageOps.exif_transpose(image)
    if image.mode == "F" or image.mode.startswith("I"):
        return Image.fromarray(_shallow(np.asarray(image))).convert("RGB")
    if "A" in image.getbands() or "transparency" in image.info:
        clear = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", clear.size, (255, 255, 255, 255)), clear)
    return image.convert("RGB")


def _shallow(grey: NDArray[np.generic]) -> Pixels:
    """Return grey values of any depth as 8 bits."""
    values = np.nan_to_num(grey.astype(np.float64), nan=0.0, posinf=0.0, neginf=0.0).clip(0)
    brightest = float(values.max(initial=0.0))
    if grey.dtype.kind == "f" and brightest <= 1.0:
        return np.round(values * 255).astype(np.uint8)
    top = next((depth for depth in _DEPTHS if brightest <= depth), brightest)
    return np.round(values * (255 / top)).astype(np.uint8)
