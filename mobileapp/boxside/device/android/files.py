"""Files of other apps: opened, saved and shared through the system's own dialogs, without a permission."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from boxside.device.android.intents import Answers, copy_in, copy_out
from boxside.device.android.jni import activity, cast, java, told
from boxside.device.android.lent import GRANT_READ, lent_folder, lent_uri, sweep
from boxside.device.ports.files import kind_of


class AndroidFiles:
    """Chooses, shares and saves files."""

    has_share = True

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
            self.answers.work(lambda: copy_in(data.getData(), path), lambda: then(str(path)))

        self.answers.ask(asked, came, "No app on this phone lets you choose a file")

    def share(self, paths: Sequence[str], kind: str) -> None:
        """Open the share sheet with copies of files of ours."""
        folder = lent_folder()
        sweep(folder)
        sent = _sending([_lend(Path(path), folder) for path in paths])
        sent.setType(kind)
        sent.addFlags(GRANT_READ)
        with told("Nothing on this phone takes the file", "Save it instead."):
            activity().startActivity(java("android.content.Intent").createChooser(sent, None))

    def save_as(self, path: str, name: str, then: Callable[[str], None]) -> None:
        """Ask where to save a file of ours; `then` gets the name that it has there."""
        intent = java("android.content.Intent")
        asked = intent(intent.ACTION_CREATE_DOCUMENT)
        asked.addCategory(intent.CATEGORY_OPENABLE)
        asked.setType(kind_of([name]))
        asked.putExtra(intent.EXTRA_TITLE, name)

        def came(data: Any) -> None:
            uri = data.getData()
            self.answers.work(lambda: copy_out(Path(path), uri), lambda: then(_name_of(uri, name)))

        self.answers.ask(asked, came, "No app on this phone lets you save a file")


def _sending(addresses: list[Any]) -> Any:
    """Return the intent that sends what these `content://` addresses stand for."""
    intent = java("android.content.Intent")
    if len(addresses) == 1:
        sent = intent(intent.ACTION_SEND)
        sent.putExtra(intent.EXTRA_STREAM, cast("android.os.Parcelable", addresses[0]))
        return sent
    several = java("java.util.ArrayList")()
    for address in addresses:
        several.add(cast("android.os.Parcelable", address))
    sent = intent(intent.ACTION_SEND_MULTIPLE)
    sent.putParcelableArrayListExtra(intent.EXTRA_STREAM, several)
    return sent


def _lend(path: Path, folder: Path) -> Any:
    """Copy a file of ours to where another app may read it; return its address."""
    copy = folder / _safe(path.name)
    shutil.copyfile(path, copy)
    return lent_uri(copy)


def _name_of(uri: Any, otherwise: str = "file") -> str:
    """Return the name that the other app gives its file; another where it gives none."""
    cursor = activity().getContentResolver().query(uri, ["_display_name"], None, None, None)
    if cursor is None:
        return otherwise
    try:
        return str(cursor.getString(0)) if cursor.moveToFirst() else otherwise
    finally:
        cursor.close()


def _safe(name: str) -> str:
    """Return a name without folders: a foreign name must not lead out of ours."""
    kept = "".join(char if char.isalnum() or char in "-_. " else "_" for char in name)
    return kept.strip(". ")[-80:] or "file"
