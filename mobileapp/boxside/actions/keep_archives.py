"""Archives that make themselves: how often, into which folder, and whether the last one is older than wanted."""

from __future__ import annotations

from pathlib import Path

from boxside.actions.archive_events import ms_text
from boxside.actions.context import setting, today
from boxside.actions.keep_snapshots import snapshot_rows
from boxside.actions.make_archive import MADE_MS, write
from boxside.actions.services import Services
from boxside.core.values.errors import BoxsideError, EntryError
from boxside.core.values.keeping import ArchiveView, KeepingView
from boxside.core.values.moments import DAY_MS
from boxside.core.values.views import Notice
from boxside.store import merging, saving

_FOLDER = "archive_folder"
_NEWEST = "archive_row"


def keeping_view(services: Services) -> KeepingView:
    """Return when the last archive was made, whether that is longer ago than wanted, and what can be taken back."""
    made_ms, undo = _made_ms(services), merging.undoable(services.store)
    shown = dict(services.catalog.settings["archive_every"].choices)
    return KeepingView(
        last="never" if made_ms is None else ms_text(services, made_ms),
        is_old=is_old(services),
        every=shown[setting(services, "archive_every")],
        folder=services.store.meta(_FOLDER),
        undo=undo.text if undo else "",
        snapshots=snapshot_rows(services),
        notice=old_notice(services),
    )


def choose_archive_folder(services: Services, folder: Path | None) -> KeepingView:
    """Have archives made into a folder from now on; None for no longer.

    Raises
    ------
    EntryError : if it is no folder that can be written; nothing was changed
    StoreError : if the log cannot be written
    """
    if folder is not None:
        _check_folder(folder)
    with saving(services.store) as log:
        log.store.set_meta(_FOLDER, str(folder.resolve()) if folder is not None else "")
    return keeping_view(services)


def archive_if_due(services: Services) -> ArchiveView | Notice | None:
    """Make the archive that is due into the chosen folder; None where none is due, a notice where it fails.

    A log that has not grown since is not written again. The last merge can still be taken back afterwards:
    the archive stays with the keeper.
    """
    folder, every = services.store.meta(_FOLDER), _every_days(services)
    if not folder or not every or services.store.why_read_only or not _is_due(services, every):
        return None
    try:
        _check_folder(Path(folder))
        newest = merging.last_row(services.store)
        has_grown = services.store.meta(_NEWEST) != str(newest)
        view = write(services, _free_name(services, Path(folder))) if has_grown else None
        with saving(services.store) as log:
            log.store.set_meta(MADE_MS, str(services.clock.now_ms()))
            log.store.set_meta(_NEWEST, str(newest))
    except BoxsideError as error:
        first, _, rest = str(error).partition(". ")
        return Notice(f"The archive that is due was not made: {first}.", "The log is as it was.", rest, bad=True)
    return view


def hand_on(services: Services) -> None:
    """Let the last merge stand, since what it brought is handed on; every export and archive ends with this."""
    if merging.undoable(services.store) is not None and not services.store.why_read_only:
        with saving(services.store) as log:
            merging.forget_undo(log.store)


def is_old(services: Services) -> bool:
    """Return whether the last archive is older than the keeper wants, or should be there by now."""
    every = _every_days(services)
    return bool(every) and merging.last_row(services.store) > 0 and _is_due(services, every)


def old_notice(services: Services) -> Notice | None:
    """Return that the last archive is too old, or None."""
    if not is_old(services):
        return None
    made_ms = _made_ms(services)
    # Short enough for the bar of a small phone.
    last = "No archive yet" if made_ms is None else f"Last archive: {ms_text(services, made_ms)}"
    return Notice(f"{last}.", "Everything is on this device, and only there.", "Make an archive and keep it elsewhere.")


def _is_due(services: Services, every: int) -> bool:
    """Count calendar days, as a keeper does, from the last archive or else from the first entry."""
    since_ms = _made_ms(services)
    if since_ms is None:
        since_ms = merging.first_logged_ms(services.store)
    return since_ms is not None and services.clock.now_ms() - since_ms >= every * DAY_MS - DAY_MS // 4


def _every_days(services: Services) -> int:
    value = setting(services, "archive_every")
    return int(value) if value.isdigit() else 0


def _made_ms(services: Services) -> int | None:
    kept = services.store.meta(MADE_MS)
    return int(kept) if kept.isdigit() else None


def _check_folder(folder: Path) -> None:
    if not folder.is_dir():
        raise EntryError(f"{folder} is not there, or no folder. Nothing was changed. Choose a folder that is there.")
    probe = folder / ".boxside-probe"
    try:
        probe.write_bytes(b"")
        probe.unlink()
    except OSError as error:
        raise EntryError(f"{folder} cannot be written ({error.strerror or error}). Choose another folder.") from error


def _free_name(services: Services, folder: Path) -> Path:
    """Return the day's name; never that of a file that is there already, which may be another log's."""
    day = today(services).isoformat()
    names = [f"boxside-{day}.zip", *(f"boxside-{day}-{nth}.zip" for nth in range(2, 1000))]
    return next(folder / name for name in names if not (folder / name).exists())
