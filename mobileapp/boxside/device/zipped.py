"""A folder as one file, so that it can be handed to another app."""

from __future__ import annotations

import zipfile
from pathlib import Path

from boxside.core.values.errors import StoreError

# The earliest date that a zip file can hold: the same files make the same bytes.
_DATE = (1980, 1, 1, 0, 0, 0)


def zip_folder(folder: Path) -> Path:
    """Write what is in a folder into a zip file beside it, in the order of the names; return where it is.

    Raises
    ------
    StoreError : if the disk refuses; a file of that name that was there before stays
    """
    path = folder.with_name(f"{folder.name}.zip")
    temporary = path.with_name(f".new-{path.name}")
    try:
        with zipfile.ZipFile(temporary, "w", zipfile.ZIP_DEFLATED) as packed:
            for file in sorted(one for one in folder.rglob("*") if one.is_file()):
                _add(packed, file, f"{folder.name}/{file.relative_to(folder).as_posix()}")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StoreError(f"{path} was not written: {error}. The log is as before. Free some space.") from error
    return path


def _add(packed: zipfile.ZipFile, file: Path, name: str) -> None:
    entry = zipfile.ZipInfo(name, _DATE)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    with file.open("rb") as read, packed.open(entry, "w", force_zip64=True) as write:
        while block := read.read(1 << 20):
            write.write(block)
