"""Photos made safe to keep: upright, whole, in colour, of a sane size, and without what the camera noted."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from boxside.core.values.errors import DeviceError
from boxside.device import pictures
from boxside.device.pictures import read_picture
from tests.actions.photos import GPS_IFD, LATITUDE, LATITUDE_REF, MAKE, ORIENTATION

RED, GREEN, BLUE, WHITE = (220, 20, 20), (20, 160, 20), (20, 20, 220), (240, 240, 240)


def corners(width: int = 96, height: int = 64) -> Image.Image:
    """A picture whose quarters are red, green (above), blue and white (below)."""
    image = Image.new("RGB", (width, height), RED)
    image.paste(GREEN, (width // 2, 0, width, height // 2))
    image.paste(BLUE, (0, height // 2, width // 2, height))
    image.paste(WHITE, (width // 2, height // 2, width, height))
    return image


def noise(mode: str = "RGB") -> Image.Image:
    grains = np.random.default_rng(7).integers(0, 256, (48, 64, 3), dtype=np.uint8)
    return Image.fromarray(grains).convert(mode)


def opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    assert (image.format, image.mode) == ("JPEG", "RGB")
    image.load()
    return image


def read(path: Path) -> Image.Image:
    picture = read_picture(path)
    image = opened(picture.data)
    assert image.size == (picture.width_px, picture.height_px)
    return image


def quarters(image: Image.Image) -> list[str]:
    """Return the colours of the quarters, row by row."""
    width, height = image.size
    places = [(width // 4, height // 4), (3 * width // 4, height // 4)]
    places += [(x, 3 * height // 4) for x, _ in places]
    names = {"red": RED, "green": GREEN, "blue": BLUE, "white": WHITE}
    found = []
    for place in places:
        seen = np.array(image.getpixel(place))
        found.append(min(names, key=lambda name: int(np.abs(seen - np.array(names[name])).sum())))
    return found


# JEITA CP-3451 (2002), Exif 2.2, section 4.6.4 A, Orientation: where the stored row 0 and column 0 lie in the scene.
# What is stored as red green / blue white is seen so:
SEEN = {
    1: ["red", "green", "blue", "white"],  # top, left
    2: ["green", "red", "white", "blue"],  # top, right
    3: ["white", "blue", "green", "red"],  # bottom, right
    4: ["blue", "white", "red", "green"],  # bottom, left
    5: ["red", "blue", "green", "white"],  # left, top
    6: ["blue", "red", "white", "green"],  # right, top
    7: ["white", "green", "blue", "red"],  # right, bottom
    8: ["green", "white", "red", "blue"],  # left, bottom
}


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", SEEN)
def test_a_photo_is_turned_as_its_notes_say(tmp_path: Path, orientation: int, kind: str) -> None:
    notes = Image.Exif()
    notes[ORIENTATION] = orientation
    corners().save(tmp_path / "photo", kind, exif=notes)
    image = read(tmp_path / "photo")
    assert quarters(image) == SEEN[orientation]
    assert image.size == ((96, 64) if orientation < 5 else (64, 96))
    assert ORIENTATION not in image.getexif(), "or a viewer would turn it once more"


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_an_orientation_that_is_none_turns_nothing(tmp_path: Path, orientation: int) -> None:
    notes = Image.Exif()
    notes[ORIENTATION] = orientation
    corners().save(tmp_path / "photo.jpg", exif=notes)
    assert quarters(read(tmp_path / "photo.jpg")) == SEEN[1]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_nothing_that_the_camera_noted_is_kept(tmp_path: Path, kind: str) -> None:
    notes = Image.Exif()
    notes[MAKE] = "SecretCamera"
    notes[0x9286] = "SecretComment"
    notes.get_ifd(GPS_IFD).update({LATITUDE_REF: "N", LATITUDE: (52.0, 31.0, 17.0)})
    path = tmp_path / "photo"
    extra = {
        "JPEG": {"comment": b"SecretPlace", "xmp": b"<x>SecretXmp</x>", "icc_profile": b"SecretProfile" * 9},
        "PNG": {}, "WEBP": {"xmp": b"<x>SecretXmp</x>"}, "TIFF": {"description": "SecretPlace"},
    }[kind]  # fmt: skip
    corners().save(path, kind, exif=notes, **extra)
    assert b"Secret" in path.read_bytes(), "the control: the notes are in the file"
    data = read_picture(path).data
    assert b"Secret" not in data
    assert b"Exif" not in data
    image = opened(data)
    assert dict(image.getexif()) == {}
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


@pytest.mark.parametrize("options", [{}, {"progressive": True}], ids=["plain", "progressive"])
@pytest.mark.parametrize("kind", ["JPEG", "WEBP", "TIFF", "BMP"])
def test_a_truncated_photo_is_refused_wherever_it_ends(tmp_path: Path, kind: str, options: dict[str, bool]) -> None:
    whole = io.BytesIO()
    noise().save(whole, kind, **(options if kind == "JPEG" else {}))
    data, path = whole.getvalue(), tmp_path / "photo.jpg"
    for n in (*range(0, len(data), max(1, len(data) // 25)), len(data) - 3, len(data) - 1):
        path.write_bytes(data[:n])
        with pytest.raises(DeviceError, match=r"photo\.jpg cannot be read as a photo .*Nothing was kept\. Choose"):
            read_picture(path)
    path.write_bytes(data)
    assert read(path).size == (64, 48)


def test_a_png_may_lack_its_end_but_no_pixel(tmp_path: Path) -> None:
    """Its checks after the last pixel are not needed: what is then read is the whole picture."""
    whole, path = io.BytesIO(), tmp_path / "photo.png"
    noise().save(whole, "PNG")
    data, n_read = whole.getvalue(), 0
    path.write_bytes(data)
    expected = read_picture(path).data
    for n in (*range(0, len(data), 400), *range(len(data) - 40, len(data))):
        path.write_bytes(data[:n])
        try:
            assert read_picture(path).data == expected
            n_read += 1
        except DeviceError as error:
            assert "Nothing was kept" in str(error)  # noqa: PT017  either refused with this, or whole
    assert n_read < 30


@pytest.mark.parametrize("name", ["text", "empty", "folder", "missing", "svg", "eps"])
def test_what_is_no_photo_is_refused(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    eps = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n%%EndComments\n%%EOF\n"
    content = {
        "text": b"no photo at all",
        "empty": b"",
        "svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        "eps": eps,
    }
    if name == "folder":
        path.mkdir()
    elif name in content:
        path.write_bytes(content[name])
    with pytest.raises(DeviceError, match=rf"{name} cannot be read as a photo .*Nothing was kept"):
        read_picture(path)


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is large."""
    pieces = [(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)), (b"IDAT", zlib.compress(b"\0" * 64))]
    chunks = [
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in [*pieces, (b"IEND", b"")]
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


@pytest.mark.parametrize("size", [(100_000, 100_000), (20_000, 20_000), (12_001, 10_000), (2**31 - 1, 1)])
def test_a_bomb_is_refused_before_it_is_unpacked(
    tmp_path: Path, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    def unpacked(self: Image.Image) -> None:
        raise AssertionError("unpacked")

    monkeypatch.setattr("PIL.PngImagePlugin.PngImageFile.load", unpacked)
    path = tmp_path / "bomb.png"
    path.write_bytes(bomb(*size))
    with pytest.raises(DeviceError, match=r"bomb\.png .*Nothing was kept"):
        read_picture(path)


def test_photos_up_to_the_stated_size_are_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pillow warns from 89 megapixels on; phones make 108. Here with both limits a thousandth of what they are."""
    assert pictures.MAX_PIXELS == 120_000_000
    monkeypatch.setattr(pictures, "MAX_PIXELS", 120_000)
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 89_478)
    corners(400, 270).save(tmp_path / "large.jpg")
    picture = read_picture(tmp_path / "large.jpg")
    assert (picture.width_px, picture.height_px) == (400, 270)
    corners(400, 301).save(tmp_path / "larger.jpg")
    with pytest.raises(DeviceError, match=r"larger\.jpg has more than"):
        read_picture(tmp_path / "larger.jpg")


def test_a_file_of_more_than_sixty_megabytes_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.jpg"
    corners().save(path)
    with path.open("r+b") as file:
        file.truncate(60_000_001)
    with pytest.raises(DeviceError, match=r"larger than 60 MB\. Nothing was kept"):
        read_picture(path)


def near(image: Image.Image, expected: tuple[int, ...]) -> bool:
    return bool(np.abs(np.asarray(image).astype(int) - np.array(expected)).max() <= 3)


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_greys_of_sixteen_bits_keep_their_brightness(tmp_path: Path, kind: str) -> None:
    for grey in (0, 16_448, 32_896, 65_535):
        Image.fromarray(np.full((16, 16), grey, np.uint16)).save(tmp_path / "grey", kind)
        assert near(read(tmp_path / "grey"), (grey // 257,) * 3), grey


@pytest.mark.parametrize("mode", ["L", "1", "P", "CMYK", "YCbCr", "LA", "RGBA"])
def test_every_way_to_keep_colour_is_read(tmp_path: Path, mode: str) -> None:
    kind = "TIFF" if mode in {"CMYK", "YCbCr"} else "PNG"
    picture = corners().convert(mode)
    picture.save(tmp_path / "photo", kind)
    expected = picture.convert("RGB")
    image = read(tmp_path / "photo")
    for left, top in ((0, 0), (48, 0), (0, 32), (48, 32)):
        # The means of whole quarters, since few colours are mixed from dots.
        quarter = (left, top, left + 48, top + 32)
        seen, wanted = (np.asarray(one.crop(quarter), float).mean((0, 1)) for one in (image, expected))
        assert np.abs(seen - wanted).max() < 4, quarter
    if mode in {"L", "LA", "1"}:
        red, green, blue = (np.asarray(band, int) for band in image.split())
        assert np.abs(red - green).max() <= 2
        assert np.abs(green - blue).max() <= 2


@pytest.mark.parametrize(("alpha", "seen"), [(255, (200, 40, 40)), (0, (255, 255, 255)), (128, (227, 147, 147))])
def test_what_is_see_through_lies_on_white(tmp_path: Path, alpha: int, seen: tuple[int, int, int]) -> None:
    """Half of 200 and half of 255 is 227: no colour hidden under nothing comes to light."""
    Image.new("RGBA", (32, 32), (200, 40, 40, alpha)).save(tmp_path / "clear.png")
    assert near(read(tmp_path / "clear.png"), seen)


def test_a_see_through_colour_of_a_palette_lies_on_white(tmp_path: Path) -> None:
    picture = Image.new("P", (32, 32), 1)
    picture.putpalette([0, 0, 0, 10, 20, 30])
    picture.save(tmp_path / "clear.gif", transparency=1)
    assert near(read(tmp_path / "clear.gif"), (255, 255, 255))


def test_reading_changes_no_file_and_gives_the_same_bytes_again(tmp_path: Path) -> None:
    path = tmp_path / "photo.jpg"
    corners().save(path, comment=b"note")
    before = path.read_bytes()
    assert read_picture(path) == read_picture(path)
    assert path.read_bytes() == before
