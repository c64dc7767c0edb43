"""Files of other programs, and ours on their way to them: chosen, saved elsewhere, shared."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

ANY_KIND = "application/octet-stream"
# MIME types of what Boxside writes or takes in, by the ending of a name.
KINDS: dict[str, str] = {
    "csv": "text/csv",
    "ics": "text/calendar",
    "jpg": "image/jpeg",
    "json": "application/json",
    "pdf": "application/pdf",
    "png": "image/png",
    "svg": "image/svg+xml",
    "txt": "text/plain",
    "zip": "application/zip",
}


def kind_of(names: Sequence[str]) -> str:
    """Return the MIME type that files of these names have in common: `*/*` for several kinds."""
    found = {KINDS.get(name.rpartition(".")[2].lower(), ANY_KIND) for name in names}
    return found.pop() if len(found) == 1 else "*/*"


class Files(Protocol):
    """Chooses, shares and saves files. What is handed out is a copy: ours stays where it is, whatever becomes of it.

    `has_share` says whether there is a share sheet; where there is none, `save_as` is the way out.
    """

    has_share: bool

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask the person for a file; `then` is called with its path, not at all when they cancel.

        Raises
        ------
        DeviceError : where there is no way to choose one; nothing is changed
        """
        ...

    def share(self, paths: Sequence[str], kind: str) -> None:
        """Open the share sheet with files of ours, of a MIME type (see `kind_of`); what is done there is not told.

        Raises
        ------
        DeviceError : where there is no share sheet; nothing is changed
        """
        ...

    def save_as(self, path: str, name: str, then: Callable[[str], None]) -> None:
        """Ask where to save a file of ours, proposing a name; `then` is called with where it is once it is there.

        `then` is not called at all when the person cancels.

        Raises
        ------
        DeviceError : where nothing can be saved elsewhere; nothing is changed
        """
        ...
