"""Files that other apps may read or write one at a time, through our own provider (`OwnFiles.java`)."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any
from urllib.parse import quote

from boxside.device.android.jni import context, java

FOLDER = "lent"
GRANT_READ, GRANT_WRITE = 0x1, 0x2
_KEPT_S = 24 * 3600


def lent_folder() -> Path:
    """Return the folder in the app's cache, which the phone may empty."""
    folder = Path(str(context().getCacheDir().getAbsolutePath())) / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def lent_uri(path: Path) -> Any:
    """Return the `content://` address of a file in the folder."""
    authority = f"{context().getPackageName()}.files"
    return java("android.net.Uri").parse(f"content://{authority}/{quote(path.name)}")


def sweep(folder: Path) -> None:
    """Delete what was lent more than a day ago: by then nobody reads it any more."""
    newest = time.time_ns() // 1_000_000_000 - _KEPT_S
    for path in folder.iterdir():
        if path.is_file() and path.stat().st_mtime < newest:
            path.unlink()
