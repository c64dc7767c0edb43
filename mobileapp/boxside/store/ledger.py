"""The ledger on disk: appended to at the end, refolded forward where a late event changes the past."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from boxside.core.ledger import Fold, Folded, order_key, touched_boxes
from boxside.core.values.event import Event, OrderKey
from boxside.core.values.ledger import PRESENT, Line, Posting
from boxside.core.values.stages import Sex, Stage
from boxside.store.connection import Store
from boxside.store.rows import EVENT_COLUMNS, event_of

INSERT_POSTING = "INSERT INTO posting VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
UPSERT_BALANCE = """
INSERT INTO balance VALUES (?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (box, cohort, stage, instar, sex, account) DO UPDATE SET n = balance.n + excluded.n
"""
_AFTER = "(visit_ms, phase, at_ms, event_id) > (?, ?, ?, ?)"
_PAGE = 256
Place = tuple[int, int, int, str]


def place_of(key: OrderKey) -> Place:
    """Return an order key as the tuple that SQL compares."""
    return (key.visit_ms, key.phase, key.at_ms, key.id)


def is_last(store: Store, boxes: Iterable[str], place: Place) -> bool:
    """Return whether no ledger event of these boxes comes after a place."""
    sql = f"SELECT 1 FROM touch WHERE ledger = 1 AND subject_id = ? AND {_AFTER} LIMIT 1"
    return not any(store.row(sql, (box, *place)) for box in boxes)


def present(store: Store, boxes: Iterable[str]) -> dict[Line, int]:
    """Return the animals now present in the given boxes, line by line."""
    sql = "SELECT box, cohort, stage, instar, sex, n FROM balance WHERE box = ? AND account = '' AND n <> 0"
    return {_line(row): row[5] for box in boxes for row in store.rows(sql, (box,))}


def present_before(store: Store, box: str, place: Place) -> dict[Line, int]:
    """Return what the postings now stored say was present in a box before a place in the history."""
    at_or_after = (
        "SELECT box, cohort, stage, instar, sex, sum(delta) FROM posting WHERE box = ? AND account = '' "
        "AND (visit_ms, phase, at_ms, event_id) >= (?, ?, ?, ?) GROUP BY cohort, stage, instar, sex"
    )
    later = {_line(row): -row[5] for row in store.rows(at_or_after, (box, *place))}
    return _plus(present(store, [box]), later)


def append_last(store: Store, event: Event) -> Folded:
    """Book an event that is the newest of all its boxes: the cost is that of its own moves."""
    kind = store.vocabulary.get(event.kind)
    folded = Fold.of(event, kind, present(store, touched_boxes(event, kind)))
    write(store, event, order_key(event, kind), folded)
    add_to_balances(store, folded.postings, 1)
    return folded


def write(store: Store, event: Event, key: OrderKey, folded: Folded) -> None:
    """Keep the postings and flags of one event."""
    for nth, posting in enumerate(folded.postings):
        store.run(INSERT_POSTING, posting_row(key, nth, posting))
    for flag in folded.flags:
        store.run("INSERT OR IGNORE INTO flag VALUES (?, ?)", (event.id, flag))


def posting_row(key: OrderKey, nth: int, posting: Posting) -> tuple[object, ...]:
    """Return the row that keeps a posting."""
    line = posting.line
    return (
        line.box, key.visit_ms, key.phase, key.at_ms, key.id, nth, line.cohort, str(line.stage),
        line.instar, str(line.sex), posting.account, posting.delta,
    )  # fmt: skip


def add_to_balances(store: Store, postings: Iterable[Posting], sign: int) -> None:
    """Add postings to (or, with -1, take them from) the balances."""
    for posting in postings:
        line = posting.line
        row = (line.box, line.cohort, str(line.stage), line.instar, str(line.sex), posting.account)
        store.run(UPSERT_BALANCE, (*row, sign * posting.delta))


@dataclass(slots=True)
class Refold:
    """A forward pass from the first place that changed, box by box, as far as anything differs.

    `old` and `new` hold the balances of the boxes that differ, before and after the change; a box is
    left as soon as the two agree and no changed event lies ahead of it.
    """

    store: Store
    changed: dict[str, tuple[Event, bool]]
    old: dict[str, dict[Line, int]] = field(default_factory=dict)
    new: dict[str, dict[Line, int]] = field(default_factory=dict)
    ahead: dict[str, Place] = field(default_factory=dict)
    queue: list[tuple[Place, str, int, Iterator[Place]]] = field(default_factory=list)
    met: set[str] = field(default_factory=set)

    def run(self) -> None:
        """Refold everything that follows from the changed events."""
        done: Place = (-(1 << 62), -1, 0, "")
        for event, _ in self.changed.values():
            kind = self.store.vocabulary.get(event.kind)
            place = place_of(order_key(event, kind))
            for box in touched_boxes(event, kind):
                self.ahead[box] = max(place, self.ahead.get(box, place))
                self.wait(box, self.places(box, (*place[:3], "")))
        while self.queue:
            place, box, _, places = heapq.heappop(self.queue)
            if place > done:
                done = place
                self.step(place)
            if box in self.old or place < self.ahead.get(box, place):
                self.wait(box, places)

    def wait(self, box: str, places: Iterator[Place]) -> None:
        """Queue the next ledger event of a box."""
        start = next(places, None)
        if start is not None:
            heapq.heappush(self.queue, (start, box, id(places), places))

    def places(self, box: str, since: Place) -> Iterator[Place]:
        """Yield the places of a box's ledger events after `since`, a page at a time, in order."""
        sql = (
            "SELECT visit_ms, phase, at_ms, event_id FROM touch WHERE ledger = 1 AND subject_id = ? "
            f"AND {_AFTER} ORDER BY visit_ms, phase, at_ms, event_id LIMIT {_PAGE}"
        )
        while True:
            page = self.store.rows(sql, (box, *since))
            yield from page
            if len(page) < _PAGE:
                return
            since = page[-1]

    def step(self, place: Place) -> None:
        """Book one event again, where it changed itself or meets a box that differs."""
        event, counts = self.event_at(place[3])
        kind = self.store.vocabulary.get(event.kind)
        boxes = touched_boxes(event, kind)
        if event.id not in self.changed and not any(box in self.old for box in boxes):
            return
        before = self.stored(event.id)
        lines: dict[Line, int] = {}
        for box in boxes:
            lines.update(self.new[box] if box in self.new else present_before(self.store, box, place))
        folded = Fold.of(event, kind, lines) if counts else Folded()
        self.store.run("DELETE FROM flag WHERE event_id = ?", (event.id,))
        self.track(place, before, folded.postings)
        if tuple(before) != folded.postings:
            self.store.run("DELETE FROM posting WHERE event_id = ?", (event.id,))
            add_to_balances(self.store, before, -1)
            add_to_balances(self.store, folded.postings, 1)
            write(self.store, event, order_key(event, kind), folded)
        else:
            for flag in folded.flags:
                self.store.run("INSERT OR IGNORE INTO flag VALUES (?, ?)", (event.id, flag))

    def track(self, place: Place, before: Iterable[Posting], after: Iterable[Posting]) -> None:
        """Carry both balances over the event; take up boxes that now differ, leave those that agree."""
        were, are = _by_box(before), _by_box(after)
        for box in {*were, *are} - set(self.old):
            if were.get(box) != are.get(box):
                self.met.add(box)
                self.old[box] = present_before(self.store, box, place)
                self.new[box] = dict(self.old[box])
                self.wait(box, self.places(box, place))
        for box in list(self.old):
            self.old[box] = _plus(self.old[box], were.get(box, {}))
            self.new[box] = _plus(self.new[box], are.get(box, {}))
            if self.old[box] == self.new[box]:
                del self.old[box], self.new[box]

    def event_at(self, event_id: str) -> tuple[Event, bool]:
        """Return an event and whether it counts."""
        if event_id in self.changed:
            return self.changed[event_id]
        row = self.store.row(f"SELECT {EVENT_COLUMNS} FROM event WHERE id = ?", (event_id,))
        struck = self.store.row("SELECT 1 FROM struck WHERE event_id = ?", (event_id,))
        return event_of(row or ()), struck is None

    def stored(self, event_id: str) -> tuple[Posting, ...]:
        """Return the postings that an event has now."""
        sql = "SELECT box, cohort, stage, instar, sex, account, delta FROM posting WHERE event_id = ? ORDER BY nth"
        return tuple(Posting(_line(row), row[5], row[6]) for row in self.store.rows(sql, (event_id,)))


def _by_box(postings: Iterable[Posting]) -> dict[str, dict[Line, int]]:
    """Return what postings change in the boxes themselves, box by box; changes that cancel are left out."""
    boxes: dict[str, dict[Line, int]] = {}
    for posting in postings:
        if posting.account == PRESENT:
            box = posting.line.box
            boxes[box] = _plus(boxes.get(box, {}), {posting.line: posting.delta})
    return boxes


def _plus(lines: dict[Line, int], shifts: dict[Line, int]) -> dict[Line, int]:
    moved = {line: lines.get(line, 0) + shifts.get(line, 0) for line in (*lines, *shifts)}
    return {line: n for line, n in moved.items() if n}


def _line(row: tuple[object, ...]) -> Line:
    return Line(str(row[0]), str(row[1]), Stage(str(row[2])), int(str(row[3])), Sex(str(row[4])))
