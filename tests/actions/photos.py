"""Photos for tests: small, lying on their side, and with the notes that a phone's camera makes."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

ORIENTATION, MAKE, GPS_IFD, LATITUDE_REF, LATITUDE = 0x0112, 0x010F, 0x8825, 1, 2


def write_photo(path: Path, with_place: bool = True) -> Path:
    """Write a JPEG of 40 x 20 pixels whose notes say: turn me by 90 degrees, and where I was taken."""
    image = Image.new("RGB", (40, 20), (30, 60, 20))
    image.paste((220, 220, 200), (0, 0, 10, 20))
    notes = Image.Exif()
    notes[ORIENTATION] = 6
    notes[MAKE] = "Test camera"
    if with_place:
        notes.get_ifd(GPS_IFD).update({LATITUDE_REF: "N", LATITUDE: (52.0, 30.0, 0.0)})
    image.save(path, "JPEG", quality=90, exif=notes)
    return path
