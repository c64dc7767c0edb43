"""What the app does by itself once a day: look whether the log is what was written, set a copy aside, archive."""

from __future__ import annotations

from dataclasses import replace

from boxside.actions.check_log import log_fault
from boxside.actions.context import today
from boxside.actions.keep_archives import archive_if_due, old_notice
from boxside.actions.keep_snapshots import snapshot_due, take_snapshot
from boxside.actions.repair_log import repair_damaged
from boxside.actions.services import Services
from boxside.core.values.errors import StoreError
from boxside.core.values.keeping import Looked
from boxside.core.values.views import Notice
from boxside.store import DamagedError, cached, merging, open_store
from boxside.store.catching_up import forget_dues
from boxside.store.connection import SQLITE_ERRORS

_LOOKED_ON = "looked_on"
# Up to here reading all rows takes a moment; longer logs are looked through at the first start of a day.
_SMALL = 5_000


def look_after(services: Services) -> tuple[Notice, ...]:
    """Look through the log, set a copy aside, archive, repair what is damaged; return what the keeper should know."""
    looked = look_beside(services)
    return (repair_damaged(services, looked.fault).notice,) if looked.fault else looked.notices


def look_beside(services: Services) -> Looked:
    """Look through the log, set the day's copy aside and make the archive that is due, over a connection of its own.

    So it can run beside the thread that saves, and holds up nobody. The log is looked through before it is copied,
    so that damage never takes the place of a whole copy; repairing is left to whoever owns the open log.
    """
    if services.store.why_read_only:
        return Looked()
    try:
        store = open_store(services.store.path.parent, services.store.vocabulary)
    except DamagedError as error:
        return Looked(error.reason)
    try:
        return _looked(replace(services, store=store))
    except SQLITE_ERRORS as error:
        # What cannot even be asked is damaged.
        return Looked(str(error))
    finally:
        store.close()


def _looked(services: Services) -> Looked:
    day = today(services).isoformat()
    is_first = services.store.meta(_LOOKED_ON) != day
    if is_first or merging.last_row(services.store) <= _SMALL:
        # What is due is kept without a proof of its own, and is soon worked out again.
        cached(services.store, lambda: forget_dues(services.store))
        if fault := log_fault(services):
            return Looked(fault)
    if not is_first:
        return Looked()
    notices = tuple(_kept(services))
    cached(services.store, lambda: services.store.set_meta(_LOOKED_ON, day))
    return Looked("", notices)


def copy_if_due(services: Services) -> Notice | None:
    """Set the day's copy aside where it is due and the log is what was written; return what is to be known.

    For those who log from a shell and never start the app.
    """
    try:
        if services.store.why_read_only or not snapshot_due(services):
            return None
        if fault := log_fault(services):
            return Notice(
                f"The log is damaged ({fault}).", "It was not copied.", "Have it repaired: `boxside repair`.", bad=True
            )
        take_snapshot(services, "daily")
    except (StoreError, *SQLITE_ERRORS) as error:
        return Notice(f"The day's copy of the log was not set aside: {error}", bad=True)
    return None


def _kept(services: Services) -> list[Notice]:
    """Set the day's copy aside and make the archive that is due."""
    found: list[Notice] = []
    try:
        if snapshot_due(services):
            take_snapshot(services, "daily")
    except StoreError as error:
        first, _, rest = str(error).partition(". ")
        found.append(Notice(f"{first}.", "The log itself is as it was.", rest, bad=True))
    made = archive_if_due(services)
    if isinstance(made, Notice):
        found.append(made)
    elif made is not None and made.notice is not None:
        found.append(made.notice)
    elif made is None and (old := old_notice(services)) is not None:
        found.append(old)
    return found
