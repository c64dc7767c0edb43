"""The photos of a span beside its tables, without where and by which camera they were taken."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from boxside.actions.services import Services
from boxside.actions.spans import Span
from boxside.core.values.errors import BoxsideError
from boxside.device.export_pictures import remove_earlier, write_picture
from boxside.device.jpeg_notes import without_notes
from boxside.store import reading
from boxside.store.photos import path_of
from boxside.store.rows import event_of

FOLDER = "photos"
_NAME = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo that was written: its path within the export, size and sha256."""

    path: str
    n_bytes: int
    sha256: str


def export_photos(services: Services, out: Path, span: Span | None) -> tuple[Photo, ...]:
    """Write the photos that standing entries of a span name; None for none.

    The name of each file is the digest that the entry names. Photos of an earlier export that are not among
    them are removed. One that is missing, or can no longer be read, is left out.

    Raises
    ------
    StoreError : if the disk refuses
    """
    written: dict[str, Photo] = {}
    for digest in _digests(services, span) if span else ():
        data = _read(services, path_of(services.device.data_dir, digest))
        if digest not in written and data is not None:
            path = f"{FOLDER}/{digest}.jpg"
            written[digest] = Photo(path, len(data), write_picture(out / path, data))
    earlier = [path for path in (out / FOLDER).glob("*.jpg") if _NAME.fullmatch(path.stem) and path.stem not in written]
    remove_earlier(earlier)
    return tuple(written.values())


def _digests(services: Services, span: Span) -> Iterator[str]:
    for row in reading.event_rows(services.store, span.from_ms, span.to_ms, ("photo",), span.scope, standing=True):
        digest = event_of(row[:16]).fields.get("sha256")
        if isinstance(digest, str) and _NAME.fullmatch(digest):
            yield digest


def _read(services: Services, path: Path) -> bytes | None:
    """Return a photo without the camera's notes; where its segments are odd, drawn anew; None where it is no photo."""
    try:
        return without_notes(path.read_bytes())
    except OSError:
        return None
    except ValueError:
        try:
            return services.device.photos.read(path).data
        except BoxsideError:
            return None
