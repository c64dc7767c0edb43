"""One save: the event and all that follows from it, in one transaction, or nothing."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from boxside.core.values.errors import StoreError
from boxside.core.values.event import Event
from boxside.store import entities, ledger, standing
from boxside.store.connection import PRAGMAS, SQLITE_ERRORS, Store
from boxside.store.filing import Filed, filed
from boxside.store.refold import refolded
from boxside.store.rows import INSERT_EVENT, event_row
from boxside.store.touches import INSERT_TOUCH, refresh_latest, touch_rows


@dataclass(slots=True)
class Saving:
    """An open transaction on the log."""

    store: Store

    def next_seq(self, device: str) -> int:
        """Return the next number of a device's own count."""
        found = self.store.row("SELECT max(seq) FROM event WHERE device = ?", (device,))
        return int(found[0] or 0) + 1 if found else 1

    def append(self, event: Event) -> bool:
        """Append an event and bring the state up to date; False where the log holds it already.

        Raises
        ------
        StoreError : if the log holds another event with this id; the transaction is rolled back
        """
        if not self._insert(event):
            return False
        entry = filed(event, self.store.vocabulary)
        self.store.run_many(INSERT_TOUCH, touch_rows(entry))
        self._follow(standing.settle(self.store, event), entry)
        return True

    def _insert(self, event: Event) -> bool:
        row = event_row(event)
        if self.store.run(INSERT_EVENT, row):
            return True
        held = self.store.row("SELECT digest FROM event WHERE id = ?", (event.id,))
        if held is None or bytes(held[0]) != row[-1]:
            raise StoreError(f"event {event.id} is in the log with other content. Nothing was changed.")
        return False

    def _follow(self, changed: list[tuple[Event, bool]], new: Filed) -> None:
        """Carry what began or ceased to count into state, ledger and the cache of due tasks."""
        late: dict[str, Filed] = {}
        for event, counts in changed:
            entry = new if event is new.event else filed(event, self.store.vocabulary)
            refresh_latest(self.store, entry, counts)
            if entry.kind is not None and entry.kind.sets:
                entities.refresh_entity(self.store, entry, entry.kind)
            if entry.is_booked:
                late[event.id] = entry
            self._make_stale(entry)
        is_new = list(late) == [new.event.id]
        if is_new and ledger.is_last(self.store, new.boxes, new.place):
            ledger.append_last(self.store, new)
        elif late:
            self._forget_dues(refolded(self.store, late))

    def _make_stale(self, entry: Filed) -> None:
        """Let what is due be worked out again: for the event's boxes, or for all where it is not about one."""
        self._forget_dues(entry.boxes)
        subject = entry.event.subject_type
        if subject in ("colony", "area") or (subject == "cohort" and not entry.boxes):
            self.store.run("DELETE FROM due_box")
            self.store.aside.clear()

    def _forget_dues(self, boxes: Iterable[str]) -> None:
        for box in boxes:
            self.store.run("DELETE FROM due_box WHERE box = ?", (box,))
            self.store.aside.pop(box, None)


@contextlib.contextmanager
def saving(store: Store) -> Iterator[Saving]:
    """Open a transaction; it commits at the end of the block, durably, or leaves everything as it was.

    Raises
    ------
    StoreError : if the log is read-only, locked, or the disk refuses; nothing was saved
    """
    if store.why_read_only:
        raise StoreError(f"Not saved: {store.why_read_only}.")
    try:
        with store.database.atomic("IMMEDIATE"):
            yield Saving(store)
    except SQLITE_ERRORS as error:
        raise StoreError(
            f"Not saved: {_first(error)}. What was logged before is safe. Free some space or close other programs that "
            "use this log, then try again."
        ) from error


@contextlib.contextmanager
def trying(store: Store) -> Iterator[Saving]:
    """Open a transaction whose end takes everything back: to see what would come of it.

    Raises
    ------
    StoreError : if the log is read-only, locked, or the disk refuses
    """
    with saving(store) as log, store.database.savepoint() as point:
        try:
            yield log
        finally:
            point.rollback()


@contextlib.contextmanager
def reading_at_once(store: Store) -> Iterator[None]:
    """Let everything that is read in the block be of one moment, whatever another process saves meanwhile."""
    with store.database.atomic():
        yield


def cached(store: Store, write: Callable[[], None]) -> bool:
    """Write what can be worked out again at any time, in a transaction; False where it cannot be written now.

    The disk is not waited for: the next save takes it along, and what a power cut takes is worked out again.
    """
    if store.why_read_only:
        return False
    try:
        store.run("PRAGMA synchronous = NORMAL")
        with store.database.atomic("IMMEDIATE"):
            write()
    except SQLITE_ERRORS:
        return False
    finally:
        store.run(f"PRAGMA synchronous = {PRAGMAS['synchronous']}")
    return True


def _first(error: BaseException) -> BaseException:
    """Return what failed first: a full disk ends the transaction, and then rolling back fails too."""
    while isinstance(error.__context__, SQLITE_ERRORS):
        error = error.__context__
    return error
