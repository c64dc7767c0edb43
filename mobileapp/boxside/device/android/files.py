"""Files of other apps: opened, saved and shared through the system's own dialogs, without a permission."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from boxside.device.android.intents import Answers, copy_in, copy_out
from boxside.device.android.jni import activity, cast, java, told
from boxside.device.android.lent import GRANT_READ, lent_folder, lent_uri, sweep


class AndroidFiles:
    """Chooses, saves and shares files."""

    def __init__(self, answers: Answers) -> None:
        self.answers = answers

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask for a file; `then` gets the path of our copy of it."""
        intent = java("android.content.Intent")
        asked = intent(intent.ACTION_OPEN_DOCUMENT)
        asked.addCategory(intent.CATEGORY_OPENABLE)
        asked.setType("*/*")
        folder = lent_folder()
        sweep(folder)

        def came(data: Any) -> None:
            path = folder / f"opened-{_safe(_name_of(data.getData()))}"
            copy_in(data.getData(), path)
            then(str(path))

        self.answers.ask(asked, came, "No app on this phone lets you choose a file")

    def save(self, path: Path, kind: str, then: Callable[[str], None]) -> None:
        """Ask where to save a file of ours, as a MIME type; `then` gets the address when it is written."""
        intent = java("android.content.Intent")
        asked = intent(intent.ACTION_CREATE_DOCUMENT)
        asked.addCategory(intent.CATEGORY_OPENABLE)
        asked.setType(kind)
        asked.putExtra(intent.EXTRA_TITLE, path.name)

        def came(data: Any) -> None:
            copy_out(path, data.getData())
            then(str(data.getData().toString()))

        self.answers.ask(asked, came, "No app on this phone lets you save a file")

    def share(self, path: Path, kind: str) -> None:
        """Open the share sheet with a copy of a file."""
        folder = lent_folder()
        sweep(folder)
        copy = folder / _safe(path.name)
        shutil.copyfile(path, copy)
        intent = java("android.content.Intent")
        sent = intent(intent.ACTION_SEND)
        sent.setType(kind)
        sent.putExtra(intent.EXTRA_STREAM, cast("android.os.Parcelable", lent_uri(copy)))
        sent.addFlags(GRANT_READ)
        with told("Nothing on this phone takes the file", "Save it instead."):
            activity().startActivity(intent.createChooser(sent, None))


def _name_of(uri: Any) -> str:
    """Return the name that the other app gives its file; a plain one where it gives none."""
    cursor = activity().getContentResolver().query(uri, ["_display_name"], None, None, None)
    if cursor is None:
        return "file"
    try:
        return str(cursor.getString(0)) if cursor.moveToFirst() else "file"
    finally:
        cursor.close()


def _safe(name: str) -> str:
    """Return a name without folders: a foreign name must not lead out of ours."""
    kept = "".join(char if char.isalnum() or char in "-_. " else "_" for char in name)
    return kept.strip(". ")[-80:] or "file"
