"""Every error that Boxside raises on purpose, in one tree.

BoxsideError
├── EntryError    the person can fix it: an unknown box, a future time
│   └── CorrectableError    more animals than are expected: it may be saved as a correction
├── DataError     a file is wrong: names the file, the key and the reason
├── StoreError    the log cannot be read or written now: a full disk, a newer schema, a read-only file
└── DeviceError   the camera, the alarms or a folder are not to be had
"""

from __future__ import annotations


class BoxsideError(Exception):
    """Base of all errors with a message that is meant for a person."""


class EntryError(BoxsideError):
    """What was entered cannot be kept as it is; nothing was saved."""


class CorrectableError(EntryError):
    """More animals than are expected were entered; saved as a correction it can be kept."""


class DataError(BoxsideError):
    """A data file is wrong.

    Parameters
    ----------
    path : where it stands, as text
    key : the entry in it
    reason : what is wrong with that entry
    """

    def __init__(self, path: str, key: str, reason: str) -> None:
        super().__init__(f"{path}: {key}: {reason}")
        self.path = path
        self.key = key
        self.reason = reason


class StoreError(BoxsideError):
    """The log cannot be read or written; says what is safe and what to do."""


class DeviceError(BoxsideError):
    """A part of the device does not answer or is not there."""
