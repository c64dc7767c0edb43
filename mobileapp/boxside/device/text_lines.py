"""A text file line by line, with its line ends as they are; whatever its bytes are, it can be read."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from boxside.core.values.errors import EntryError

_LONGEST = 8_000_000


def text_lines(path: Path) -> Iterator[str]:
    """Yield the lines of a file in UTF-8; bytes that are none become lone surrogates, for the reader to refuse.

    Raises
    ------
    EntryError : if it cannot be read, or has a line of more than 8 million signs
    """
    try:
        with path.open(encoding="utf-8", errors="surrogateescape", newline="") as file:
            while line := file.readline(_LONGEST):
                if len(line) >= _LONGEST:
                    raise EntryError(f"{path} has a line that is too long to be one. Nothing was changed.")
                yield line
    except OSError as error:
        raise EntryError(f"{path} cannot be read: {error.strerror or error}. Nothing was changed.") from error


def first_line(path: Path) -> str:
    """Return the first line of a file, with any byte order mark; empty where the file is."""
    return next(text_lines(path), "")
