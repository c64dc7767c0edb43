"""Everything in one file: made, proved by reading it back, and made again by itself where the keeper wants that."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from boxside import __version__
from boxside.actions.archive_events import contents_of, contents_text, count_text, events_of
from boxside.actions.context import setting
from boxside.actions.services import Services
from boxside.core.archive import (
    EVENTS,
    MANIFEST,
    README,
    Manifest,
    event_line,
    manifest_text,
    photo_path,
    readme_text,
)
from boxside.core.values.event import fields_text
from boxside.core.values.keeping import ArchiveView
from boxside.core.values.views import Notice
from boxside.device.archive_reading import open_archive
from boxside.device.archive_writing import ArchiveWriter, write_archive
from boxside.device.digests import sha256_of
from boxside.device.folders import bundled
from boxside.store import merging, photos, reading, reading_at_once, saving

MADE_MS = "archive_made_ms"


def make_archive(services: Services, path: Path) -> ArchiveView:
    """Write the whole log, with photos, into one file; the same log gives the same bytes.

    From then on the last merge stands, since what it brought has been handed on.

    Raises
    ------
    EntryError : if the place is a folder or in none
    StoreError : if the disk refuses, or an entry is not what was written; a file that was there is still there
    """
    view = write(services, path)
    if not services.store.why_read_only:
        with saving(services.store) as log:
            log.store.set_meta(MADE_MS, str(services.clock.now_ms()))
            merging.forget_undo(log.store)
    return view


def write(services: Services, path: Path) -> ArchiveView:
    """Write an archive and prove it; what the log says of its archives is left as it is."""
    proofs: list[ArchiveView] = []
    with reading_at_once(services.store):
        write_archive(
            path,
            lambda writer: _fill(services, writer),
            lambda made: proofs.append(verify_archive(services, made)),
        )
    proof = proofs[0]
    n_missing = proof.contents.n_missing
    notice = None
    if n_missing:
        notice = Notice(
            f"{count_text(n_missing, 'photo')} could not be put into the archive: missing, or not what was written.",
            "All entries and all other photos are in it.",
            "`boxside check` names them.",
            bad=True,
        )
    return ArchiveView(str(path), proof.text, proof.contents, proof.n_bytes, proof.sha256, notice)


def verify_archive(services: Services, path: Path) -> ArchiveView:
    """Read an archive from its first byte to its last and return what it holds.

    Raises
    ------
    EntryError : if there is no such file
    DataError : saying what of it is not what was written
    """
    with open_archive(path) as archive:
        for _ in events_of(archive, services.catalog.vocabulary):
            pass
        for member in (*archive.photos(), *archive.others()):
            for _ in archive.pieces(member):
                pass
        contents = contents_of(archive)
    return ArchiveView(str(path), contents_text(services, contents), contents, path.stat().st_size, sha256_of(path))


def _fill(services: Services, writer: ArchiveWriter) -> None:
    store, folder = services.store, services.device.data_dir
    n_events = merging.last_row(store)
    named = photos.named(store)
    whole = [sha256 for sha256 in named if not photos.fault(folder, sha256)]
    writer.add(README, [readme_text(n_events, len(whole)).encode()])
    for name, data in _copies(services):
        writer.add(f"copies/{name}", [data])
    writer.add_lines(EVENTS, map(event_line, merging.proved(store)))
    for sha256 in whole:
        writer.add(photo_path(sha256), [photos.path_of(folder, sha256).read_bytes()], packed=False)
    manifest = Manifest(
        written_by=f"boxside {__version__}",
        n_events=n_events,
        n_photos=len(whole),
        n_boxes=len(reading.entities(store, "box")),
        n_missing=len(named) - len(whole),
        newest_ms=merging.newest_at_ms(store),
        members=tuple(writer.members),
    )
    writer.add(MANIFEST, [manifest_text(manifest).encode()])


def _copies(services: Services) -> Iterator[tuple[str, bytes]]:
    """Yield what the log refers to: whoever opens the archive in ten years needs no Boxside to read it."""
    shared = bundled("shared")
    for path in sorted([shared / "events.toml", shared / "settings.toml", *(shared / "species").glob("*.toml")]):
        yield path.name, path.read_bytes()
    now = {key: setting(services, key) for key in services.catalog.settings}
    yield "settings_now.json", fields_text(dict(now)).encode()
