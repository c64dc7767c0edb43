"""Which names an archive may hold, and the page that explains it to whoever opens it."""

from __future__ import annotations

import re

from boxside.core.archive.manifest import EVENTS, MANIFEST, README, photo_sha256

_COPY = re.compile(r"copies/[a-z0-9_]{1,60}\.(toml|json)")
_DRIVE = re.compile(r"[A-Za-z]:")


def name_fault(path: str) -> str:
    """Return why a name may not be in an archive; empty for the few that may.

    Examples
    --------
    >>> name_fault("events.jsonl")
    ''
    >>> name_fault("../events.jsonl")
    'leads out of the archive'
    """
    if path in (MANIFEST, EVENTS, README) or _COPY.fullmatch(path) or photo_sha256(path):
        return ""
    if path.startswith(("/", "\\")) or _DRIVE.match(path):
        return "is an absolute path"
    if ".." in re.split(r"[/\\]", path):
        return "leads out of the archive"
    return "is no file of an archive"


def readme_text(n_events: int, n_photos: int) -> str:
    """Return what a person reads who opens the archive without Boxside."""
    return "\n".join([
        "This is a Boxside archive: the whole log of a keeper of glow-worms, with its photos.",
        "",
        f"{EVENTS}    {n_events} events, one JSON object a line, sorted by id; nothing is ever changed,",
        "                 a correction or something taken back is an event of its own",
        "photos/          " + f"{n_photos} photos, each named by the sha256 of its bytes",
        "copies/          the vocabulary of events, the species' numbers and the settings as they were declared",
        f"{MANIFEST}    every file with its length and sha256, the numbers above, the form's version",
        "",
        "at_ms and logged_ms are milliseconds since 1970 UTC; offset_min is the offset from UTC in minutes that was",
        "in force there; tz names the zone. Restore it with `boxside restore FILE --data DIR`, or merge it into a",
        "log that is there already with `boxside merge FILE`.",
        "",
    ])  # fmt: skip
