"""An archive read as if a stranger had made it: every name, length and digest is checked, nothing is believed.

Bytes are counted while they are unpacked, so that no small file can fill a disk or the memory; nothing is
written anywhere but where the caller says.
"""

from __future__ import annotations

import contextlib
import hashlib
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from boxside.core.archive import EVENTS, LINE_BYTES, MANIFEST, Manifest, Member, name_fault, photo_sha256, read_manifest
from boxside.core.values.errors import DataError, EntryError

_CHUNK = 1 << 18
_MOST_FILES = 500_000
_MANIFEST_BYTES = 128_000_000
_PHOTO_BYTES = 60_000_000
_COPY_BYTES = 4_000_000
_EVENTS_BYTES = 20_000_000_000
# Lines of events shrink to a tenth, seldom to a fortieth; what shrinks far more is made to burst.
# Photos hardly shrink at all.
_MOST_PACKED, _MOST_PACKED_PHOTO, _ALWAYS_FINE = 200, 3, 1_000_000
_BROKEN = (
    zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, struct.error, NotImplementedError, RuntimeError,
    OverflowError, IndexError, KeyError, AttributeError,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OpenArchive:
    """An archive whose names and manifest are in order; what it holds is checked as it is read."""

    path: Path
    file: zipfile.ZipFile
    manifest: Manifest

    def wrong(self, key: str, reason: str) -> DataError:
        """Return the error that says what is wrong with a file of this archive."""
        return DataError(str(self.path), key, f"{reason}. Nothing was changed.")

    def pieces(self, member: Member) -> Iterator[bytes]:
        """Yield a file's bytes; its length and digest are proved by the time the last one has been yielded."""
        digest, n_bytes = hashlib.sha256(), 0
        for piece in self._unpacked(member.path):
            n_bytes += len(piece)
            if n_bytes > member.n_bytes:
                raise self.wrong(member.path, f"is longer than the {member.n_bytes} bytes that it should be")
            digest.update(piece)
            yield piece
        if n_bytes != member.n_bytes:
            raise self.wrong(member.path, f"has {n_bytes} bytes instead of {member.n_bytes}")
        if digest.hexdigest() != member.sha256:
            raise self.wrong(member.path, "is not what was written: its sha256 differs")

    def _unpacked(self, name: str) -> Iterator[bytes]:
        with contextlib.ExitStack() as stack:
            with _as_data_errors(self.path, name):
                file = stack.enter_context(self.file.open(name))
            while True:
                with _as_data_errors(self.path, name):
                    piece = file.read(_CHUNK)
                if not piece:
                    return
                yield piece

    def lines(self) -> Iterator[bytes]:
        """Yield the lines of the events, without their ends."""
        rest = b""
        for piece in self.pieces(self.member(EVENTS)):
            *lines, rest = (rest + piece).split(b"\n")
            if len(rest) > LINE_BYTES:
                raise self.wrong(EVENTS, f"has a line of more than {LINE_BYTES // 1_000_000} MB")
            yield from lines
        if rest:
            raise self.wrong(EVENTS, "ends within a line")

    def member(self, path: str) -> Member:
        """Return what the manifest says of a file."""
        return next(one for one in self.manifest.members if one.path == path)

    def photos(self) -> Iterator[Member]:
        """Yield the photos, as the manifest lists them."""
        return (one for one in self.manifest.members if photo_sha256(one.path))

    def others(self) -> Iterator[Member]:
        """Yield what is neither events nor photo."""
        return (one for one in self.manifest.members if one.path != EVENTS and not photo_sha256(one.path))


@contextlib.contextmanager
def open_archive(path: Path) -> Iterator[OpenArchive]:
    """Open an archive and check its names and its manifest.

    Raises
    ------
    EntryError : if there is no such file
    DataError : saying the one thing that is wrong with it; nothing was changed
    """
    if not path.is_file():
        raise EntryError(f"There is no file {path}. Nothing was changed.")
    with contextlib.ExitStack() as stack:
        with _as_data_errors(path, "the file", "is no zip that can be read"):
            file = stack.enter_context(zipfile.ZipFile(path))
            infos = file.infolist()
        _check_names(path, infos)
        manifest = _manifest(path, file)
        opened = OpenArchive(path, file, manifest)
        _check_members(opened, {info.filename: info for info in infos})
        yield opened


@contextlib.contextmanager
def _as_data_errors(path: Path, key: str, reason: str = "cannot be read") -> Iterator[None]:
    try:
        yield
    except _BROKEN as error:
        said = " ".join(str(error).split())[:120] or type(error).__name__
        raise DataError(str(path), key, f"{reason} ({said}). Nothing was changed.") from error


def _check_names(path: Path, infos: list[zipfile.ZipInfo]) -> None:
    """Refuse names that lead elsewhere, stand twice, or are no plain file."""
    if len(infos) > _MOST_FILES:
        raise DataError(str(path), "the file", f"holds more than {_MOST_FILES} files. Nothing was changed.")
    seen: set[str] = set()
    for info in infos:
        if reason := _info_fault(info, seen):
            raise DataError(str(path), repr(info.orig_filename)[:80], f"{reason}. Nothing was changed.")
        seen.add(info.filename.casefold())


def _info_fault(info: zipfile.ZipInfo, seen: set[str]) -> str:
    if info.orig_filename != info.filename:
        return "has a name that says two things"
    if fault := name_fault(info.filename):
        return fault
    if info.filename.casefold() in seen:
        return "is there twice"
    mode = info.external_attr >> 16
    if mode and not stat.S_ISREG(mode) and stat.S_IFMT(mode):
        return "is a link or no plain file"
    if info.flag_bits & 0x1:
        return "is encrypted"
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is packed in a way that archives are not"
    most = _MOST_PACKED_PHOTO if photo_sha256(info.filename) else _MOST_PACKED
    if info.file_size > max(_ALWAYS_FINE, most * info.compress_size):
        return "would burst when unpacked"
    return ""


def _manifest(path: Path, file: zipfile.ZipFile) -> Manifest:
    parts: list[bytes] = []
    n_bytes = 0
    with _as_data_errors(path, MANIFEST, "is missing or cannot be read"), file.open(MANIFEST) as source:
        while piece := source.read(_CHUNK):
            n_bytes += len(piece)
            parts.append(piece)
            if n_bytes > _MANIFEST_BYTES:
                break
    if n_bytes > _MANIFEST_BYTES:
        raise DataError(str(path), MANIFEST, "is too long to be one. Nothing was changed.")
    try:
        return read_manifest(b"".join(parts))
    except ValueError as error:
        raise DataError(str(path), MANIFEST, f"{error}. Nothing was changed.") from error


def _check_members(archive: OpenArchive, infos: dict[str, zipfile.ZipInfo]) -> None:
    """Refuse an archive that holds anything but what its manifest lists, or less."""
    listed = {one.path for one in archive.manifest.members}
    if others := sorted((infos.keys() - {MANIFEST}) ^ listed):
        reason = "is listed but not there" if others[0] in listed else "is there but not listed"
        raise archive.wrong(others[0][:100], reason)
    for one in archive.manifest.members:
        most = _EVENTS_BYTES if one.path == EVENTS else _PHOTO_BYTES if photo_sha256(one.path) else _COPY_BYTES
        if one.n_bytes > most:
            raise archive.wrong(one.path, f"is larger than {most // 1_000_000} MB")
        if infos[one.path].file_size != one.n_bytes:
            raise archive.wrong(one.path, f"has not the {one.n_bytes} bytes that it should have")
