"""One save: the event and all that follows from it, in one transaction, or nothing."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass

from boxside.core.ledger import order_key, touched_boxes
from boxside.core.values.errors import StoreError
from boxside.core.values.event import Event
from boxside.store import entities, ledger, standing
from boxside.store.connection import SQLITE_ERRORS, Store
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
        kind = self.store.vocabulary.get(event.kind)
        for row in touch_rows(event, kind):
            self.store.run(INSERT_TOUCH, row)
        self._follow(standing.settle(self.store, event))
        return True

    def _insert(self, event: Event) -> bool:
        row = event_row(event)
        held = self.store.row("SELECT digest FROM event WHERE id = ?", (event.id,))
        if held is None:
            self.store.run(INSERT_EVENT, row)
            return True
        if bytes(held[0]) != row[-1]:
            raise StoreError(f"event {event.id} is in the log with other content. Nothing was changed.")
        return False

    def _follow(self, changed: list[tuple[Event, bool]]) -> None:
        """Carry what began or ceased to count into state, ledger and the cache of due tasks."""
        late: dict[str, tuple[Event, bool]] = {}
        for event, counts in changed:
            kind = self.store.vocabulary.get(event.kind)
            refresh_latest(self.store, event, kind, counts)
            if kind is not None and kind.sets:
                entities.refresh_entity(self.store, event, kind)
            if kind is not None and (kind.moves or kind.census):
                late[event.id] = (event, counts)
            self._make_stale(event)
        self._book(late)

    def _book(self, late: dict[str, tuple[Event, bool]]) -> None:
        """Book at the end where that is all there is to do, else refold forward."""
        if len(late) == 1:
            ((event, counts),) = late.values()
            kind = self.store.vocabulary.get(event.kind)
            place = ledger.place_of(order_key(event, kind))
            if counts and ledger.is_last(self.store, touched_boxes(event, kind), place):
                ledger.append_last(self.store, event)
                return
        if late:
            refold = ledger.Refold(self.store, late)
            refold.run()
            for box in refold.met:
                self.store.run("DELETE FROM due_box WHERE box = ?", (box,))

    def _make_stale(self, event: Event) -> None:
        """Let what is due be worked out again: for the event's boxes, or for all where it is not about one."""
        kind = self.store.vocabulary.get(event.kind)
        boxes = touched_boxes(event, kind)
        for box in boxes:
            self.store.run("DELETE FROM due_box WHERE box = ?", (box,))
        wide = event.subject_type in ("colony", "area") or (event.subject_type == "cohort" and not boxes)
        if wide:
            self.store.run("DELETE FROM due_box")


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
            f"Not saved: {error}. What was logged before is safe. Free some space or close other programs that "
            "use this log, then try again."
        ) from error
