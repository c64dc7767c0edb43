"""The sha256 of a file."""

from __future__ import annotations

import hashlib
from pathlib import Path

_CHUNK = 1 << 20


def sha256_of(path: Path) -> str:
    """Return the sha256 of a file in hexadecimal, read piece by piece."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_CHUNK):
            digest.update(piece)
    return digest.hexdigest()
