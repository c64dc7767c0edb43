"""Identifiers: UUID version 7 as lower-case text, built from values that are passed in.

References
----------
Davis K., Peabody B., Leach P. 2024, RFC 9562: Universally Unique IDentifiers (UUIDs), section 5.7.
"""

from __future__ import annotations

import re

_SHAPE = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_MS_LIMIT = 1 << 48


def uuid7(unix_ms: int, rand_a: int, rand_b: int) -> str:
    """Return the UUIDv7 of a moment and its random parts.

    Parameters
    ----------
    unix_ms : milliseconds since 1970-01-01 UTC, 0 to 2**48 - 1
    rand_a : 12 bits, random or a counter within the millisecond
    rand_b : 62 bits, random

    Raises
    ------
    ValueError : if a part does not fit its bits

    Examples
    --------
    >>> uuid7(0x017F22E279B0, 0xCC3, 0x18C4DC0C0C07398F)
    '017f22e2-79b0-7cc3-98c4-dc0c0c07398f'
    """
    if not 0 <= unix_ms < _MS_LIMIT:
        raise ValueError(f"a UUIDv7 holds 48 bits of milliseconds, got {unix_ms}")
    if not (0 <= rand_a < 1 << 12 and 0 <= rand_b < 1 << 62):
        raise ValueError("rand_a has 12 bits and rand_b 62")
    value = unix_ms << 80 | 7 << 76 | rand_a << 64 | 2 << 62 | rand_b
    text = f"{value:032x}"
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


def is_uuid(text: str) -> bool:
    """Return whether `text` is a UUID in lower-case canonical form."""
    return _SHAPE.fullmatch(text) is not None


def uuid7_ms(text: str) -> int | None:
    """Return the milliseconds that a UUIDv7 carries, or None where it is no UUIDv7."""
    if not is_uuid(text) or text[14] != "7":
        return None
    return int(text[:8] + text[9:13], 16)
