"""What archives, merges, snapshots and repairs show: frozen values, already in words.

Actions build them; screens and commands show them. Sizes are bytes, instants milliseconds UTC.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from boxside.core.values.views import Notice


@dataclass(frozen=True, slots=True)
class Contents:
    """What an archive or a log holds; `newest_ms` is when its newest event happened, None without events.

    `n_missing` are photos that events name but that were not to be had when the archive was made.
    """

    n_events: int
    n_photos: int
    n_boxes: int
    newest_ms: int | None
    n_missing: int = 0


@dataclass(frozen=True, slots=True)
class ArchiveView:
    """One archive: where it is, what it holds (`text`: "1,204 events, 310 photos, newest 3 May"), its digest.

    `is_new` is false where an archive with the same content was there already.
    """

    path: str
    text: str
    contents: Contents
    n_bytes: int
    sha256: str
    notice: Notice | None = None
    is_new: bool = True


class ConflictKind(StrEnum):
    """What a merge meets that the keeper should know: only the first one stops it."""

    SAME_ID = "same_id"
    LABEL = "label"
    FUTURE = "future"


@dataclass(frozen=True, slots=True)
class Conflict:
    """One thing that a merge meets: what it is, and what is or is to be done about it."""

    kind: ConflictKind
    what: str
    do: str


@dataclass(frozen=True, slots=True)
class MergePreview:
    """What a merge would bring, before anything is changed.

    `text` says it in one line; `stops` is why it cannot be done, None where it can. `conflicts` names at
    most twenty; `n_conflicts` counts them all.
    """

    path: str
    text: str
    contents: Contents
    n_new_events: int
    n_known_events: int
    n_new_photos: int
    conflicts: tuple[Conflict, ...] = ()
    n_conflicts: int = 0
    stops: Notice | None = None


@dataclass(frozen=True, slots=True)
class Merged:
    """What a merge or a restore brought; `undo` says what can be taken back as one step, empty where nothing can."""

    notice: Notice
    preview: MergePreview
    undo: str = ""


@dataclass(frozen=True, slots=True)
class RestorePreview:
    """What a restore would bring to an empty log; `stops` is why it cannot be done here, None where it can."""

    path: str
    text: str
    contents: Contents
    stops: Notice | None = None


@dataclass(frozen=True, slots=True)
class SnapshotRow:
    """One snapshot: when it was taken, why, how large it is."""

    name: str
    when: str
    why: str
    n_bytes: int


@dataclass(frozen=True, slots=True)
class KeepingView:
    """The page about archives: the last one, whether it is older than wanted, the folder, what can be undone.

    `undo` is empty where no merge can be taken back; `snapshots` come newest first.
    """

    last: str
    is_old: bool
    every: str
    folder: str
    undo: str = ""
    snapshots: tuple[SnapshotRow, ...] = ()
    notice: Notice | None = None


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One thing that was checked: how many there are, how many are not what was written, and which."""

    what: str
    n: int
    n_bad: int
    detail: str = ""


@dataclass(frozen=True, slots=True)
class CheckReport:
    """Whether everything is what was written, line by line and in one sentence."""

    is_sound: bool
    lines: tuple[CheckLine, ...]
    notice: Notice


@dataclass(frozen=True, slots=True)
class Looked:
    """What came of looking after the log: what of it is damaged, empty where nothing is, and what is to be told."""

    fault: str = ""
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True)
class Repaired:
    """What a repair did: rows kept, how many of them came from the damaged file alone, where that was set aside.

    `aside` is empty where the log was sound and nothing was done.
    """

    notice: Notice
    n_events: int
    n_salvaged: int
    n_unreadable: int
    aside: str = ""


__all__ = [
    "ArchiveView", "CheckLine", "CheckReport", "Conflict", "ConflictKind", "Contents", "KeepingView", "Looked",
    "MergePreview", "Merged", "Repaired", "RestorePreview", "SnapshotRow",
]  # fmt: skip
