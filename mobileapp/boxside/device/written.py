"""Single files that a keeper asks for: written whole or not at all, and never over what is not ours to replace."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from boxside.core.values.errors import EntryError, StoreError


def write_file(path: Path, data: bytes) -> None:
    """Write a file; one of that name is replaced only once the new one is whole.

    Raises
    ------
    EntryError : if the path is a folder, or its folder does not exist; nothing was written
    StoreError : if the disk refuses
    """
    if path.is_dir():
        raise EntryError(f"{path} is a folder. Nothing was written. Name a file.")
    if not path.parent.is_dir():
        raise EntryError(f"{path.parent} is no folder. Nothing was written. Make it first, or name another.")
    _write(path, lambda file: file.write(data))


def copy_file(source: Path, path: Path) -> None:
    """Copy a file, however large; one at the other path is replaced only once the copy is whole.

    Raises
    ------
    StoreError : if the disk refuses
    """
    with source.open("rb") as read:
        _write(path, lambda file: shutil.copyfileobj(read, file, 1 << 20))


def _write(path: Path, fill: Callable[[BinaryIO], object]) -> None:
    temporary = path.with_name(f".new-{path.name}")
    try:
        with temporary.open("wb") as file:
            fill(file)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StoreError(f"{path} was not written: {error}. The log is as before. Free some space.") from error


def make_folder(folder: Path) -> None:
    """Make a folder, with those above it, where there is none.

    Raises
    ------
    StoreError : if it cannot be made
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"{folder} cannot be made: {error}. Nothing was written. Free some space.") from error


def read_file(path: Path, largest_bytes: int) -> bytes:
    """Return what is in a file.

    Raises
    ------
    EntryError : if there is none, it cannot be read, or it is too large
    """
    try:
        if path.stat().st_size > largest_bytes:
            raise EntryError(f"{path} is larger than {largest_bytes // 1_000_000} MB. Nothing was read.")
        return path.read_bytes()
    except OSError as error:
        raise EntryError(f"{path} cannot be read: {error.strerror or error}. Nothing was changed.") from error


def read_text(path: Path, largest_bytes: int, do: str) -> str:
    """Return the text in a file, as UTF-8, UTF-16 or, where it is neither, as Windows writes Western languages.

    Parameters
    ----------
    do : what to do where the file holds no text, a sentence

    Raises
    ------
    EntryError : if there is none, it cannot be read, it is too large, or it holds no text
    """
    data = read_file(path, largest_bytes)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", "replace")
    if "\0" in text:
        raise EntryError(f"{path.name} is no text file. Nothing was imported. {do}")
    return text
