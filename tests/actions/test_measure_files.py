"""Photos as arrays: upright, whatever their mode; and files that are none, each with one clear line."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from boxside.core.values.errors import DeviceError
from boxside.device.arrays import array_of, png_of, read_array, repacked, shrunk
from boxside.device.pictures import read_picture
from tests.actions.photos import ORIENTATION, write_photo

LIGHT, DARK = 200, 40


def halves(mode: str) -> Image.Image:
    """A picture whose left half is light and whose right half is dark."""
    image = Image.new("L", (60, 40), DARK)
    image.paste(LIGHT, (0, 0, 30, 40))
    if mode == "I;16":
        return Image.fromarray(np.asarray(image).astype(np.uint16) * 257)
    return image.convert(mode)


@pytest.mark.parametrize(
    ("mode", "ending"),
    [("RGB", "jpg"), ("L", "jpg"), ("CMYK", "jpg"), ("P", "png"), ("RGBA", "png"), ("LA", "png"), ("I;16", "png"),
     ("I;16", "tif"), ("L", "gif"), ("RGB", "webp")],
)  # fmt: skip
def test_every_mode_comes_as_eight_bit_colour(tmp_path: Path, mode: str, ending: str) -> None:
    path = tmp_path / f"a.{ending}"
    halves(mode).save(path)
    pixels = read_array(path)
    assert (pixels.dtype, pixels.shape) == (np.uint8, (40, 60, 3))
    assert pixels[20, 8] == pytest.approx([LIGHT] * 3, abs=4)
    assert pixels[20, 52] == pytest.approx([DARK] * 3, abs=4)


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_photo_is_turned_as_its_camera_noted(tmp_path: Path, turn: int) -> None:
    """All eight ways: where the light half then lies follows from the standard's table (EXIF 2.3, tag 274)."""
    path = tmp_path / "a.jpg"
    notes = Image.Exif()
    notes[ORIENTATION] = turn
    halves("RGB").save(path, exif=notes, quality=95)
    pixels = read_array(path)
    assert pixels.shape == ((40, 60, 3) if turn < 5 else (60, 40, 3))
    edges = {"left": pixels[:, :8], "right": pixels[:, -8:], "top": pixels[:8], "bottom": pixels[-8:]}
    light = [name for name, part in edges.items() if part.mean() > 180]
    assert light == [["left", "right", "right", "left", "top", "top", "bottom", "bottom"][turn - 1]]


def test_a_deep_turned_picture_is_turned_too(tmp_path: Path) -> None:
    notes = Image.Exif()
    notes[ORIENTATION] = 6
    halves("I;16").save(tmp_path / "a.png", exif=notes)
    pixels = read_array(tmp_path / "a.png")
    assert pixels.shape == (60, 40, 3)
    assert pixels[:8].mean() == pytest.approx(LIGHT, abs=2)


def test_what_is_transparent_lies_on_white(tmp_path: Path) -> None:
    Image.new("RGBA", (30, 20), (10, 20, 30, 0)).save(tmp_path / "a.png")
    assert (read_array(tmp_path / "a.png") == 255).all()


def test_twelve_bits_in_sixteen_are_not_shown_as_night(tmp_path: Path) -> None:
    grey = np.full((20, 30), 2048, np.uint16)
    grey[:, 15:] = 4095
    Image.fromarray(grey).save(tmp_path / "a.png")
    assert read_array(tmp_path / "a.png")[10, [5, 25], 0].tolist() == [128, 255]


def test_a_deep_photo_that_is_kept_is_not_burnt_out(tmp_path: Path) -> None:
    halves("I;16").save(tmp_path / "a.png")
    kept = array_of(read_picture(tmp_path / "a.png").data)
    assert kept[20, 8] == pytest.approx([LIGHT] * 3, abs=4)
    assert kept[20, 52] == pytest.approx([DARK] * 3, abs=4)


def bomb() -> bytes:
    """A PNG of a few bytes that says it has 100,000 x 100,000 pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", 100_000, 100_000, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0")) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "cannot be read"),
        (b"no photo at all", "cannot be read"),
        (bomb(), "cannot be read|120 megapixels"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 40, "cannot be read"),
    ],
)
def test_what_is_no_photo_is_refused_in_one_line(tmp_path: Path, data: bytes, reason: str) -> None:
    (tmp_path / "a.jpg").write_bytes(data)
    for read in (lambda: read_array(tmp_path / "a.jpg"), lambda: array_of(data)):
        with pytest.raises(DeviceError, match=reason) as refusal:
            read()
        assert "\n" not in str(refusal.value)
        assert "Nothing was saved" in str(refusal.value)


def test_too_many_pixels_are_refused_before_they_are_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def unpack(*_: object) -> None:
        raise AssertionError("a pixel was unpacked")

    Image.new("1", (12_000, 11_000)).save(tmp_path / "a.png")
    monkeypatch.setattr(Image.Image, "load", unpack)
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", unpack)
    with pytest.raises(DeviceError, match="12000 x 11000 pixels"):
        read_array(tmp_path / "a.png")


def test_a_truncated_photo_is_not_half_a_photo(tmp_path: Path) -> None:
    whole = write_photo(tmp_path / "a.jpg").read_bytes()
    for share in (0.3, 0.66, 0.95):
        (tmp_path / "b.jpg").write_bytes(whole[: int(len(whole) * share)])
        with pytest.raises(DeviceError, match="cannot be read"):
            read_array(tmp_path / "b.jpg")


@pytest.mark.parametrize("name", ["missing.jpg", "."])
def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(DeviceError, match=r"missing\.jpg cannot be read|is a folder"):
        read_array(tmp_path / name)


def test_pictures_go_out_as_they_came_in() -> None:
    pixels = np.random.default_rng(1).integers(0, 256, (30, 50, 3), np.uint8)
    assert (array_of(png_of(pixels)) == pixels).all()
    assert repacked(png_of(pixels), ".png") == png_of(pixels)
    assert repacked(png_of(pixels), ".jpg")[:3] == b"\xff\xd8\xff"
    assert shrunk(pixels, 25).shape == (15, 25, 3)
    assert shrunk(pixels, 50) is pixels
