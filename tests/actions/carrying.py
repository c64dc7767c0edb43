"""Archives for tests: made, taken apart and put together again."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from boxside.actions import keep_photo, make_archive
from boxside.core.archive import EVENTS, MANIFEST
from boxside.store.rebuild import state_digest
from tests.actions.keeping import Keeper
from tests.actions.photos import write_photo

Files = dict[str, bytes]


def archive(keeper: Keeper, path: Path) -> Path:
    """Make a keeper's archive."""
    make_archive.make_archive(keeper.services, path)
    return path


def photograph(keeper: Keeper, box: str, folder: Path, with_place: bool = True) -> str:
    """Keep a photo at a box and return its digest."""
    saved = keep_photo.keep_photo(keeper.services, keeper.id(box), str(write_photo(folder / "p.jpg", with_place)))
    (row,) = keeper.services.store.rows(
        "SELECT json_extract(fields, '$.sha256') FROM event WHERE id = ?", (saved.event_id,)
    )
    return str(row[0])


def files_of(path: Path) -> Files:
    """Return all files of an archive."""
    with zipfile.ZipFile(path) as file:
        return {name: file.read(name) for name in file.namelist()}


def put_together(path: Path, files: Files) -> Path:
    """Write an archive from files as they are."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in files.items():
            file.writestr(name, data)
    return path


def listed(files: Files, **said: Any) -> Files:
    """Return files with a manifest that lists them as they are; `said` changes what else it says."""
    manifest = json.loads(files[MANIFEST])
    others = {name: data for name, data in files.items() if name != MANIFEST}
    manifest["members"] = [
        {"path": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()} for name, data in others.items()
    ]
    lines = files[EVENTS].splitlines()
    manifest.update({"events": len(lines), **said})
    return {**others, MANIFEST: json.dumps(manifest).encode()}


def with_lines(files: Files, change: Callable[[list[dict[str, Any]]], None]) -> Files:
    """Return files whose events were changed, under a manifest that fits them."""
    events = [json.loads(line) for line in files[EVENTS].splitlines()]
    change(events)
    text = "".join(json.dumps(event) + "\n" for event in events)
    return listed({**files, EVENTS: text.encode()}, newest_ms=max((e["at_ms"] for e in events), default=None))


def held(keeper: Keeper) -> tuple[str, list[str], list[str]]:
    """Return what a keeper's log and photos are: the digest of the state, all events, all photos."""
    store, folder = keeper.services.store, keeper.services.device.data_dir
    rows = [row[0] for row in store.rows("SELECT id || hex(digest) FROM event ORDER BY id")]
    photos = sorted(str(path.relative_to(folder)) for path in folder.glob("photos/*/*"))
    return state_digest(store), rows, photos
