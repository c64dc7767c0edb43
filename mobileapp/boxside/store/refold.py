"""A late event booked: the history refolded forward from its place, as far as anything differs."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from boxside.core.ledger import Fold, Folded, touched_boxes
from boxside.core.values.event import Event
from boxside.core.values.ledger import PRESENT, Line, Posting
from boxside.store.connection import Store
from boxside.store.filing import Filed, Place
from boxside.store.ledger import (
    INSERT_FLAG,
    INSERT_POSTING,
    UPSERT_BALANCE,
    balance_key,
    booked_between,
    line_of,
    plus,
    posting_row,
    present_before,
)
from boxside.store.rows import PREFIXED_COLUMNS, event_of

# Pages grow while a box is followed: most boxes agree again after a step or two.
_FIRST_PAGE, _LAST_PAGE = 4, 256
_KEPT_BACK = 1000
_BEGINNING: Place = (-(1 << 62), -1, 0, "")
_HISTORY = f"""
SELECT t.visit_ms, t.phase, t.at_ms, t.event_id, s.event_id IS NULL, {PREFIXED_COLUMNS}
FROM touch t JOIN event e ON e.id = t.event_id LEFT JOIN struck s ON s.event_id = t.event_id
WHERE t.ledger = 1 AND t.subject_id = ? AND (t.visit_ms, t.phase, t.at_ms, t.event_id) > (?, ?, ?, ?)
ORDER BY t.visit_ms, t.phase, t.at_ms, t.event_id LIMIT ?
"""


@dataclass(frozen=True, slots=True)
class Step:
    """A ledger event on the way: whether it counts, and the postings that it has now."""

    row: tuple[Any, ...]
    counts: bool
    before: tuple[Posting, ...]

    @property
    def event(self) -> Event:
        """The event itself."""
        return event_of(self.row)


@dataclass(slots=True)
class Refold:
    """A forward pass over the boxes that differ, in the order of history.

    `new` holds what is present in the boxes that differ, `excess` by how much it differs from what was
    thought before; a box is left as soon as nothing differs and no changed event lies `ahead` of it.
    `agreed` holds, for boxes that were met and do not differ, what was present after a place. Balances are
    written at the end, since until then they say, with the postings to come, what was present before a place.
    """

    store: Store
    changed: Mapping[str, Filed]
    new: dict[str, dict[Line, int]] = field(default_factory=dict)
    excess: dict[str, dict[Line, int]] = field(default_factory=dict)
    agreed: dict[str, tuple[Place, dict[Line, int]]] = field(default_factory=dict)
    ahead: dict[str, Place] = field(default_factory=dict)
    queue: list[tuple[Place, str, int, Step, Iterator[tuple[Place, Step]]]] = field(default_factory=list)
    followed: dict[str, int] = field(default_factory=dict)
    met: set[str] = field(default_factory=set)
    seen: list[tuple[str]] = field(default_factory=list)
    stale: list[tuple[str]] = field(default_factory=list)
    postings: list[tuple[object, ...]] = field(default_factory=list)
    flags: list[tuple[str, str]] = field(default_factory=list)
    shifts: defaultdict[tuple[object, ...], int] = field(default_factory=lambda: defaultdict(int))

    def run(self) -> None:
        """Refold everything that follows from the changed events."""
        for entry in self.changed.values():
            for box in entry.boxes:
                self.ahead[box] = max(entry.place, self.ahead.get(box, entry.place))
        for box in self.ahead:
            first = min(entry.place for entry in self.changed.values() if box in entry.boxes)
            self.follow(box, (*first[:3], ""))
        done = _BEGINNING
        while self.queue:
            place, box, number, step, history = heapq.heappop(self.queue)
            if place > done:
                done = place
                self.take(place, step)
            if self.followed[box] == number and (box in self.new or place < self.ahead.get(box, place)):
                self.wait(box, number, history)
        self.write()
        self.store.run_many(UPSERT_BALANCE, [(*key, n) for key, n in self.shifts.items() if n])

    def follow(self, box: str, since: Place) -> None:
        """Follow a box from a place on, and no longer from where it was followed before."""
        self.followed[box] = number = self.followed.get(box, 0) + 1
        self.wait(box, number, self.history(box, since))

    def wait(self, box: str, number: int, history: Iterator[tuple[Place, Step]]) -> None:
        """Queue the next ledger event of a box."""
        for place, step in history:
            heapq.heappush(self.queue, (place, box, number, step, history))
            return

    def history(self, box: str, since: Place) -> Iterator[tuple[Place, Step]]:
        """Yield a box's ledger events after `since`, in order, a page at a time."""
        size = _FIRST_PAGE
        while True:
            page = self.store.rows(_HISTORY, (box, *since, size))
            stored = self.stored([row[3] for row in page])
            for row in page:
                yield row[:4], Step(row[5:], bool(row[4]), tuple(stored.get(row[3], ())))
            if len(page) < size:
                return
            since, size = page[-1][:4], min(_LAST_PAGE, 4 * size)

    def stored(self, events: list[str]) -> dict[str, list[Posting]]:
        """Return the postings that events have now."""
        sql = (
            "SELECT box, cohort, stage, instar, sex, account, delta, event_id FROM posting "
            f"WHERE event_id IN ({', '.join('?' * len(events))}) ORDER BY event_id, nth"
        )
        found: dict[str, list[Posting]] = defaultdict(list)
        for row in self.store.rows(sql, events):
            found[row[7]].append(Posting(line_of(row), row[5], row[6]))
        return found

    def take(self, place: Place, step: Step) -> None:
        """Book one event again, where it changed itself or meets a box that differs."""
        event = step.event
        kind = self.store.vocabulary.get(event.kind)
        boxes = touched_boxes(event, kind)
        if event.id not in self.changed and not any(box in self.new for box in boxes):
            return
        there = {box: self.before(box, place) for box in boxes}
        folded = Fold.of(event, kind, _together(there)) if step.counts else Folded()
        self.track(place, there, step.before, folded.postings)
        self.seen.append((event.id,))
        self.flags += [(event.id, flag) for flag in folded.flags]
        if step.before != folded.postings:
            self.stale.append((event.id,))
            self.postings += [posting_row(place, nth, posting) for nth, posting in enumerate(folded.postings)]
            self.shift(step.before, -1)
            self.shift(folded.postings, 1)
        if len(self.seen) >= _KEPT_BACK:
            self.write()

    def before(self, box: str, place: Place) -> dict[Line, int]:
        """Return what is present in a box before a place, by the new history."""
        if box in self.new:
            return self.new[box]
        if box in self.agreed:
            since, lines = self.agreed[box]
            return plus(lines, booked_between(self.store, box, since, place))
        return present_before(self.store, box, place)

    def track(
        self,
        place: Place,
        there: Mapping[str, dict[Line, int]],
        before: tuple[Posting, ...],
        after: tuple[Posting, ...],
    ) -> None:
        """Carry the boxes over the event; take up those that now differ, leave those that agree again."""
        were = _by_box(before)
        are = were if before == after else _by_box(after)
        for box in {*were, *are}:
            was, now = were.get(box, {}), are.get(box, {})
            lines = plus(there[box] if box in there else self.before(box, place), now)
            if box not in self.new and was == now:
                self.agreed[box] = (place, lines)
                continue
            if box not in self.new:
                self.met.add(box)
                self.excess[box] = {}
                self.follow(box, place)
            if was != now:
                self.excess[box] = plus(plus(self.excess[box], now), {line: -n for line, n in was.items()})
            self.new[box] = lines
            if not self.excess[box]:
                self.agreed[box] = (place, self.new.pop(box))

    def shift(self, postings: Iterable[Posting], sign: int) -> None:
        """Add postings to, or take them from, what the balances are to be changed by."""
        for posting in postings:
            self.shifts[balance_key(posting)] += sign * posting.delta

    def write(self) -> None:
        """Write the postings and flags that were kept back, so that many go at once."""
        self.store.run_many("DELETE FROM flag WHERE event_id = ?", self.seen)
        self.store.run_many("DELETE FROM posting WHERE event_id = ?", self.stale)
        self.store.run_many(INSERT_POSTING, self.postings)
        self.store.run_many(INSERT_FLAG, self.flags)
        for rows in (self.seen, self.stale, self.postings, self.flags):
            rows.clear()


def refolded(store: Store, changed: Mapping[str, Filed]) -> set[str]:
    """Bring the ledger up to date after events began or ceased to count; return the boxes whose past changed."""
    refold = Refold(store, changed)
    refold.run()
    return refold.met


def _together(boxes: Mapping[str, dict[Line, int]]) -> dict[Line, int]:
    lines: dict[Line, int] = {}
    for found in boxes.values():
        lines.update(found)
    return lines


def _by_box(postings: Iterable[Posting]) -> dict[str, dict[Line, int]]:
    """Return what postings change in the boxes themselves, box by box; changes that cancel are left out."""
    boxes: dict[str, dict[Line, int]] = {}
    for posting in postings:
        if posting.account == PRESENT:
            lines = boxes.setdefault(posting.line.box, {})
            lines[posting.line] = lines.get(posting.line, 0) + posting.delta
    if all(all(lines.values()) for lines in boxes.values()):
        return boxes
    return {box: {line: n for line, n in lines.items() if n} for box, lines in boxes.items()}
