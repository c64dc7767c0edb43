"""What a camera notes in a JPEG, taken out without touching a pixel; Pillow is the witness."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from boxside.device.jpeg_notes import without_notes

NOTED = b"Exif\0\0somewhere at home"


def jpeg(**how: object) -> bytes:
    pixels = np.random.default_rng(1).integers(0, 255, (40, 60, 3), dtype=np.uint8)
    exif = Image.Exif()
    exif[0x010F] = "a camera"
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, "JPEG", exif=exif, comment=b"at home", **how)
    return kept.getvalue()


@pytest.mark.parametrize(
    "how", [{}, {"progressive": True}, {"quality": 30, "subsampling": 2}, {"restart_marker_rows": 1}]
)
def test_the_notes_go_and_every_pixel_stays(how: dict[str, object]) -> None:
    data = jpeg(**how)
    bare = without_notes(data)
    assert b"a camera" in data
    assert b"at home" in data
    assert not any(word in bare for word in (b"Exif", b"a camera", b"at home"))
    with Image.open(io.BytesIO(data)) as before, Image.open(io.BytesIO(bare)) as after:
        assert before.tobytes() == after.tobytes()
        assert not after.getexif()
    assert without_notes(bare) == bare


def test_what_was_appended_goes_too() -> None:
    data = jpeg()
    assert without_notes(data + b"\xff\xd8 a film with a place in it") == without_notes(data)


@pytest.mark.parametrize("cut", [0, 1, 2, 3, 20, 200, -1, -2])
def test_a_torn_file_is_refused(cut: int) -> None:
    data = jpeg()
    with pytest.raises(ValueError):
        without_notes(data[:cut])


def test_another_kind_of_file_is_refused() -> None:
    with pytest.raises(ValueError, match="no JPEG"):
        without_notes(b"\x89PNG\r\n\x1a\n" + NOTED)
