"""A damaged log made whole, with what was done in words."""

from __future__ import annotations

from boxside.actions.archive_events import count_text, ms_text
from boxside.actions.check_log import log_fault
from boxside.actions.services import Services
from boxside.core.values.errors import StoreError
from boxside.core.values.keeping import Repaired
from boxside.core.values.views import Notice
from boxside.store import checking, merging, saving, snapshots
from boxside.store.connection import SQLITE_ERRORS, Repair
from boxside.store.rebuild import rebuild
from boxside.store.repairing import reopen, repair


def repair_log(services: Services) -> Repaired:
    """Make whole what is damaged: the log, what follows from it, the copies set aside. A sound log stays as it is.

    Raises
    ------
    StoreError : if nothing can be read and there is no copy, or the disk refuses; nothing was changed
    """
    store = services.store
    n_copies = _drop_damaged_copies(services)
    if store.why_read_only and not log_fault(services):
        raise StoreError(f"Nothing was repaired: {store.why_read_only}.")
    if fault := log_fault(services):
        return repair_damaged(services, fault)
    done = [f"{count_text(n_copies, 'damaged copy')} of the log removed"] if n_copies else []
    if not _follows(services):
        with saving(store):
            rebuild(store)
        done.append("what follows from the entries derived again")
    n_events = merging.last_row(store)
    what = f"Repaired: {', '.join(done)}." if done else "Nothing is damaged."
    return Repaired(Notice(what, f"All {count_text(n_events, 'entry')} are what was written."), n_events, 0, 0)


def repair_damaged(services: Services, fault: str) -> Repaired:
    """Set the log aside, take the newest copy that is whole, and read what is newer out of the damaged file.

    Raises
    ------
    StoreError : if nothing can be read and there is no copy, or the disk refuses; nothing was changed
    """
    store = services.store
    store.close()
    try:
        done = repair(store.path.parent, store.vocabulary, services.clock.now_ms(), fault)
    finally:
        _open_again(services)
    return Repaired(repaired_notice(services, done), done.n_events, done.n_salvaged, done.n_gone, str(done.aside))


def repaired_notice(services: Services, done: Repair) -> Notice:
    """Return what a repair did, for a person."""
    if done.snapshot_ms is None:
        newer = "there was no copy, all were read out of the damaged file"
    else:
        day, read = ms_text(services, done.snapshot_ms), count_text(done.n_salvaged, "newer entry")
        newer = f"the copy of {day} and {read} read out of the damaged file"
    lost = f" {count_text(done.n_gone, 'entry')} could not be read and {'is' if done.n_gone == 1 else 'are'} lost."
    return Notice(
        "The log was damaged on the disk and has been repaired.",
        f"{count_text(done.n_events, 'entry')} are there: {newer}.{lost if done.n_gone else ''}",
        "Look through the last days. The damaged file is kept beside the log. If it happens again, change the device.",
        bad=True,
    )


def _drop_damaged_copies(services: Services) -> int:
    bad = [one for one in snapshots.snapshots(services.device.data_dir) if not one.is_whole()]
    for one in bad:
        one.path.unlink(missing_ok=True)
    return len(bad)


def _follows(services: Services) -> bool:
    try:
        return checking.state_follows(services.store)
    except SQLITE_ERRORS:
        return False


def _open_again(services: Services) -> None:
    """Open what is there now; where that is still damaged, the next question to it says so."""
    try:
        reopen(services.store)
    except SQLITE_ERRORS as error:
        raise StoreError(f"The log cannot be opened: {error}. The damaged file is as it was.") from error
