"""The archive's form: events as lines, the manifest, and what may be in one; nothing here reads or writes a file."""

from boxside.core.archive.fit import misfit
from boxside.core.archive.lines import LINE_BYTES, event_line, event_of_line, event_of_values
from boxside.core.archive.manifest import (
    EVENTS,
    FORMAT,
    MANIFEST,
    README,
    VERSION,
    Manifest,
    Member,
    manifest_text,
    photo_path,
    photo_sha256,
    read_manifest,
)
from boxside.core.archive.names import name_fault, readme_text

__all__ = [
    "EVENTS", "FORMAT", "LINE_BYTES", "MANIFEST", "README", "VERSION", "Manifest", "Member", "event_line",
    "event_of_line", "event_of_values", "manifest_text", "misfit", "name_fault", "photo_path", "photo_sha256",
    "read_manifest", "readme_text",
]  # fmt: skip
