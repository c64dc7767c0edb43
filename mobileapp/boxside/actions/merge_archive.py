"""Another log taken into this one: shown before it happens, all or nothing, taken back as one step."""

from __future__ import annotations

from pathlib import Path

from boxside.actions.archive_events import contents_text, events_of
from boxside.actions.demo_colony import MARK
from boxside.actions.keep_snapshots import take_snapshot
from boxside.actions.merge_words import preview_of
from boxside.actions.services import Services
from boxside.actions.stage_photos import staged_photos
from boxside.core.values.errors import EntryError, StoreError
from boxside.core.values.keeping import Merged, MergePreview, RestorePreview
from boxside.core.values.views import Notice
from boxside.device.archive_reading import OpenArchive, open_archive
from boxside.store import merging, photos, reading, saving, snapshots, trying
from boxside.store.repairing import replace_with
from boxside.store.snapshots import Snapshot


def preview_merge(services: Services, path: Path) -> MergePreview:
    """Return what a merge of that archive would bring: it is done and taken back again, so nothing is changed.

    Raises
    ------
    EntryError : if there is no such file
    DataError : saying what is wrong with the archive
    StoreError : if the log cannot be written, so that nothing can be merged
    """
    with open_archive(path) as archive, staged_photos(services, archive) as staged:
        before = merging.shown_otherwise(services.store)
        with trying(services.store) as log:
            found = merging.merge(log.store, events_of(archive, services.catalog.vocabulary))
            return preview_of(services, archive, found, before, len(list(staged.iterdir())))


def merge_archive(services: Services, path: Path) -> Merged:
    """Take the events and photos of an archive that are not here yet; all of them or none.

    Raises
    ------
    EntryError : if there is no such file, or an id stands for other content here; nothing was changed
    DataError : saying what is wrong with the archive; nothing was changed
    StoreError : if the disk refuses; nothing was changed
    """
    with open_archive(path) as archive, staged_photos(services, archive) as staged:
        copy = None if reading.is_empty(services.store) else take_snapshot(services, "merge")
        preview = _take(services, archive, staged, copy)
    services.store.checkpoint(whole=True)
    undo = merging.undoable(services.store)
    safe = "It can be taken back as one step until something is logged or handed on." if undo else ""
    return Merged(Notice(f"Merged: {preview.text}.", safe), preview, undo.text if undo else "")


def undo_merge(services: Services) -> Notice:
    """Take back the last merge: the log is again what it was before it.

    Raises
    ------
    EntryError : if there is none, or something was logged, merged or handed on since; nothing was changed
    StoreError : if the copy from before is not what was written, or the disk refuses; nothing was changed
    """
    found = merging.undoable(services.store)
    if found is None:
        raise EntryError(
            "No merge can be taken back. Nothing was changed. That goes only until something is logged or handed on."
        )
    folder = services.device.data_dir
    copy = next((one for one in snapshots.snapshots(folder) if one.path.name == found.snapshot), None)
    if copy is None or not copy.is_whole():
        raise StoreError("The copy from before the merge is gone or not what was written. The merge stands.")
    replace_with(services.store, copy.path)
    snapshots.forget_since(folder, copy.at_ms)
    return Notice(f"Taken back: the merge of {found.text}.", "The log is what it was before it.")


def preview_restore(services: Services, path: Path) -> RestorePreview:
    """Return what a restore of that archive would bring, the whole archive having been proved; nothing is changed.

    Raises
    ------
    EntryError : if there is no such file
    DataError : saying what is wrong with the archive
    """
    if not reading.is_empty(services.store):
        with open_archive(path) as archive:
            for _ in events_of(archive, services.catalog.vocabulary):
                pass
            preview = preview_of(services, archive, merging.United(), {}, 0)
        return RestorePreview(str(path), contents_text(services, preview.contents), preview.contents, _NOT_EMPTY)
    preview = preview_merge(services, path)
    return RestorePreview(str(path), contents_text(services, preview.contents), preview.contents, preview.stops)


def restore_archive(services: Services, path: Path) -> Merged:
    """Fill an empty log from an archive, in one step.

    Raises
    ------
    EntryError : if something was logged here already, or there is no such file; nothing was changed
    DataError : saying what is wrong with the archive; nothing was changed
    StoreError : if the disk refuses; nothing was changed
    """
    if not reading.is_empty(services.store):
        raise EntryError(f"{_NOT_EMPTY.what} {_NOT_EMPTY.safe} {_NOT_EMPTY.do}")
    merged = merge_archive(services, path)
    text = contents_text(services, merged.preview.contents)
    return Merged(Notice(f"Restored: {text}.", "The archive itself is as it was."), merged.preview)


_NOT_EMPTY = Notice(
    "There is a log here already.",
    "Nothing was changed.",
    "Merge the archive into it, or restore it into an empty folder.",
    bad=True,
)


def _refuse(preview: MergePreview) -> None:
    if preview.stops is not None:
        raise EntryError(f"{preview.stops.what} {preview.stops.safe} {preview.stops.do}")


def _take(services: Services, archive: OpenArchive, staged: Path, copy: Snapshot | None) -> MergePreview:
    """Write events, state and photos in one transaction."""
    taken: list[Path] = []
    before = merging.shown_otherwise(services.store)
    n_photos = len(list(staged.iterdir()))
    try:
        with saving(services.store) as log:
            found = merging.merge(log.store, events_of(archive, services.catalog.vocabulary))
            preview = preview_of(services, archive, found, before, n_photos)
            _refuse(preview)
            taken = photos.take_in(services.device.data_dir, staged)
            if found.n_new:
                # A demo into which somebody's records were merged is no demo any more: it may not be replaced.
                log.store.set_meta(MARK, "")
            # What another program has saved since the copy was taken would be lost with it.
            if copy is not None and found.n_new and copy.n_events == found.first_row:
                merging.note_undo(log.store, copy.path.name, preview.text)
    except BaseException:
        photos.give_back(taken)
        raise
    return preview
