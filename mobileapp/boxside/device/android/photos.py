"""Photos: the phone's own picker and camera app, for which no permission is needed.

CAMERA must not be declared in the manifest: declared and not granted, it forbids the intent.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from boxside.core.values.errors import DeviceError
from boxside.device.android.intents import Answers, copy_in
from boxside.device.android.jni import api_level, cast, java
from boxside.device.android.lent import GRANT_READ, GRANT_WRITE, lent_folder, lent_uri, sweep
from boxside.device.ports.photos import Picture

_HAS_PICKER = 33


class AndroidPhotos:
    """Chooses photos with the picker, takes them with the camera app, reads them as every platform does."""

    has_camera = True

    def __init__(self, answers: Answers) -> None:
        self.answers = answers

    def choose(self, then: Callable[[str], None]) -> None:
        """Ask for a photo that is there already."""
        intent = java("android.content.Intent")
        if api_level() >= _HAS_PICKER:
            asked = intent(java("android.provider.MediaStore").ACTION_PICK_IMAGES)
        else:
            asked = intent(intent.ACTION_OPEN_DOCUMENT)
            asked.addCategory(intent.CATEGORY_OPENABLE)
        asked.setType("image/*")
        path = _fresh("chosen.jpg")

        def came(data: Any) -> None:
            self.answers.work(lambda: copy_in(data.getData(), path), lambda: then(str(path)))

        self.answers.ask(asked, came, "No app on this phone lets you choose a photo")

    def take(self, then: Callable[[str], None]) -> None:
        """Ask the camera app for a new photo; it writes into a file that we lend it."""
        path = _fresh("taken.jpg")
        path.touch()
        media, intent = java("android.provider.MediaStore"), java("android.content.Intent")
        asked = intent(media.ACTION_IMAGE_CAPTURE)
        asked.putExtra(media.EXTRA_OUTPUT, cast("android.os.Parcelable", lent_uri(path)))
        asked.addFlags(GRANT_READ | GRANT_WRITE)

        def came(_: Any) -> None:
            if not path.stat().st_size:
                raise DeviceError("The camera handed over no photo. Nothing was kept. Take it again.")
            then(str(_claimed(path)))

        self.answers.ask(asked, came, "No camera app on this phone takes a photo for Boxside")

    def left_over(self) -> str:
        """Return the newest photo that the camera app handed over after Android had ended this one; "" for none.

        It is told once: what nobody keeps goes with the other lent files.
        """
        found = [path for path in lent_folder().glob("taken-*.jpg") if path.stat().st_size]
        claimed = [_claimed(path) for path in sorted(found, key=lambda path: path.stat().st_mtime)]
        return str(claimed[-1]) if claimed else ""

    def read(self, path: Path) -> Picture:
        """Read a photo to the last byte, upright, without what the camera noted."""
        # Pillow is slow to load, and most runs read no photo.
        from boxside.device.pictures import read_picture

        return read_picture(path)


def _claimed(path: Path) -> Path:
    """Rename a photo that has found the one who asked for it, or is told as left over; return where it is now."""
    return path.rename(_fresh("photo.jpg"))


def _fresh(name: str) -> Path:
    folder = lent_folder()
    sweep(folder)
    stem, dot, ending = name.partition(".")
    n = 1 + sum(1 for path in folder.iterdir() if path.name.startswith(stem))
    while (folder / f"{stem}-{n}{dot}{ending}").exists():
        n += 1
    return folder / f"{stem}-{n}{dot}{ending}"
