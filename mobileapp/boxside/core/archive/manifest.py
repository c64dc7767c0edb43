"""The manifest: what an archive holds, with the sha256 of every file in it."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

FORMAT = "boxside-archive"
VERSION = 1
MANIFEST, EVENTS, README = "manifest.json", "events.jsonl", "README.txt"
_SHA256 = re.compile(r"[0-9a-f]{64}")
_PHOTO = re.compile(r"photos/([0-9a-f]{2})/(\1[0-9a-f]{62})\.jpg")
_NAMES = frozenset(
    ("format", "version", "written_by", "events", "photos", "boxes", "missing_photos", "newest_ms", "members")
)
_MOST = 1 << 53


@dataclass(frozen=True, slots=True)
class Member:
    """One file of an archive: its path there, its length, its sha256 in hexadecimal."""

    path: str
    n_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What an archive says of itself; `newest_ms` is when its newest event happened, None without events."""

    written_by: str
    n_events: int
    n_photos: int
    n_boxes: int
    n_missing: int
    newest_ms: int | None
    members: tuple[Member, ...]


def photo_path(sha256: str) -> str:
    """Return where an archive keeps the photo of a digest."""
    return f"photos/{sha256[:2]}/{sha256}.jpg"


def photo_sha256(path: str) -> str:
    """Return the digest that a photo's path in an archive names; empty where it is no photo's path."""
    found = _PHOTO.fullmatch(path)
    return found[2] if found else ""


def manifest_text(manifest: Manifest) -> str:
    """Return the manifest as JSON, the same bytes for the same content."""
    said = {
        "format": FORMAT,
        "version": VERSION,
        "written_by": manifest.written_by,
        "events": manifest.n_events,
        "photos": manifest.n_photos,
        "boxes": manifest.n_boxes,
        "missing_photos": manifest.n_missing,
        "newest_ms": manifest.newest_ms,
        "members": [{"path": m.path, "bytes": m.n_bytes, "sha256": m.sha256} for m in manifest.members],
    }
    return json.dumps(said, indent=1, ensure_ascii=False) + "\n"


def read_manifest(data: bytes) -> Manifest:
    """Return what a manifest says.

    Raises
    ------
    ValueError : saying why it is none, or that a newer app has written it
    """
    try:
        said = json.loads(data.decode("utf-8"))
    except RecursionError as error:
        raise ValueError("is nested too deeply") from error
    except ValueError as error:
        raise ValueError(f"is not JSON ({error})") from error
    if not isinstance(said, dict) or said.get("format") != FORMAT:
        raise ValueError("is not that of a Boxside archive")
    version = said.get("version")
    if type(version) is int and version > VERSION:
        raise ValueError(f"is of format {version}, which a newer Boxside has written; update Boxside to read it")
    if version != VERSION or type(version) is not int:
        raise ValueError("names no format that was ever used")
    if said.keys() != _NAMES:
        raise ValueError(f"does not say what it must: {min(said.keys() ^ _NAMES)[:40]!r}")
    return _manifest(said)


def _manifest(said: dict[str, Any]) -> Manifest:
    newest, by = said["newest_ms"], said["written_by"]
    if not isinstance(by, str) or len(by) > 200:
        raise ValueError("does not say what has written it")
    if newest is not None and (type(newest) is not int or not 0 <= newest < _MOST):
        raise ValueError("'newest_ms' is no moment")
    n_photos = _count(said, "photos")
    members = said["members"]
    if type(members) is not list:
        raise ValueError("'members' is no list")
    found = tuple(_member(one) for one in members)
    if len({one.path.casefold() for one in found}) != len(found):
        raise ValueError("names a file twice")
    if sum(bool(photo_sha256(one.path)) for one in found) != n_photos:
        raise ValueError("counts other photos than it lists")
    _check_paths(found)
    return Manifest(
        by, _count(said, "events"), n_photos, _count(said, "boxes"), _count(said, "missing_photos"), newest, found
    )


def _check_paths(members: Sequence[Member]) -> None:
    if EVENTS not in {one.path for one in members}:
        raise ValueError(f"lists no {EVENTS}")
    for one in members:
        named = photo_sha256(one.path)
        if named and named != one.sha256:
            raise ValueError(f"lists {one.path} with another digest than its name")


def _count(said: dict[str, Any], name: str) -> int:
    value = said[name]
    if type(value) is not int or not 0 <= value < _MOST:
        raise ValueError(f"{name!r} is no number of things")
    return value


def _member(said: object) -> Member:
    if not isinstance(said, dict) or said.keys() != {"path", "bytes", "sha256"}:
        raise ValueError("lists something that is no file")
    path, n_bytes, sha256 = said["path"], said["bytes"], said["sha256"]
    if not isinstance(path, str) or not isinstance(sha256, str) or not _SHA256.fullmatch(sha256):
        raise ValueError("lists a file without path or digest")
    if type(n_bytes) is not int or not 0 <= n_bytes < _MOST:
        raise ValueError("lists a file without its length")
    return Member(path, n_bytes, sha256)
