"""What a camera notes in a JPEG beside the picture, taken out without touching a pixel.

References
----------
ITU-T T.81 1992, Information technology: Digital compression and coding of continuous-tone still images, annex B
(segments); JEITA CP-3451 2002, Exchangeable image file format (place and time stand in segment APP1).
"""

from __future__ import annotations

_START, _SCAN, _END = 0xD8, 0xDA, 0xD9
_COMMENT = 0xFE
# APP0 says the size of a pixel, APP14 how its colours are meant; all other notes of programs are dropped.
_KEPT = (0xE0, 0xEE)


def without_notes(data: bytes) -> bytes:
    """Return a JPEG without EXIF, XMP, IPTC and comments; the picture itself stays byte for byte.

    Raises
    ------
    ValueError : if it is no JPEG, or its segments do not fit together
    """
    if data[:2] != bytes((0xFF, _START)):
        raise ValueError("it is no JPEG")
    kept, at = [data[:2]], 2
    while True:
        marker, end = _segment(data, at)
        if marker == _SCAN:
            # What follows the picture's end is no part of it: phones append films and further pictures there.
            return b"".join((*kept, data[at : _end_of_picture(data, end)]))
        is_note = marker == _COMMENT or (0xE0 <= marker <= 0xEF and marker not in _KEPT)
        if not is_note:
            kept.append(data[at:end])
        at = end


def _segment(data: bytes, at: int) -> tuple[int, int]:
    """Return the marker of the segment at a place, and where the segment ends."""
    if at + 4 > len(data) or data[at] != 0xFF:
        raise ValueError("its segments do not fit together")
    end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    if end > len(data):
        raise ValueError("it is cut off")
    return data[at + 1], end


def _end_of_picture(data: bytes, at: int) -> int:
    """Return where the picture ends: at its end marker, past the scans and the tables between them."""
    while True:
        at = data.index(b"\xff", at)
        marker = data[at + 1] if at + 1 < len(data) else -1
        if marker == _END:
            return at + 2
        if marker == 0x00 or 0xD0 <= marker <= 0xD7:
            at += 2
        elif marker == 0xFF:
            at += 1
        else:
            _, at = _segment(data, at)
