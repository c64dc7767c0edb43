"""What a file that a keeper brings in is: an archive, an exported log, or an old notebook."""

from __future__ import annotations

from pathlib import Path

from boxside.actions.import_events import is_events_table
from boxside.actions.services import Services
from boxside.device.text_lines import begins_with

ARCHIVE, EVENTS, NOTEBOOK = "archive", "events", "notebook"
_ZIP = b"PK\x03\x04"


def which_file(services: Services, path: str) -> str:
    """Return `archive`, `events` or `notebook`: by what it begins with, whatever it is called.

    Raises
    ------
    EntryError : if it cannot be read
    """
    if begins_with(Path(path), _ZIP):
        return ARCHIVE
    return EVENTS if is_events_table(Path(path)) else NOTEBOOK
