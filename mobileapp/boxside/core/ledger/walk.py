"""From the ledger's postings to intervals: between which inspections each animal entered, moved on or was lost.

Animals of a group cannot be told apart, so histories are allocated by rules:

- Leaving a stage, first in is first out: it does not change the mean stay, and makes the spread the least
  that fits.
- Dying and going missing, the longest unseen first: of N animals of which k were seen alive since, at most
  N - k can have died before that sighting, and the rule books exactly so many to the longer interval.
- A sighting of k of N animals witnesses k of them, the most recently seen; in a box of several cohorts or
  stages only those that must be among the k. A complete count witnesses all.
- Animals found again are those of their cohort that went missing last, and live on as if never missed.
- Animals taken into another cohort (a blend, a marked individual) leave the old one alive, and enter the stage
  of the new one at an unknown time before.
- A stage is left after the animals were last witnessed in it and by the entry that says so: a keeper who looks is
  taken to note every change of stage.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from boxside.core.ledger.passages import ENDS, End, Lot, Passage, Stint, by_entry, by_sight
from boxside.core.values.event import Json
from boxside.core.values.ledger import PRESENT, Account, Line, Posting
from boxside.core.values.stages import Stage
from boxside.core.values.vocabulary import Kind, Vocabulary, Witness

_SCOPE = ("cohort", "stage", "instar", "sex")
_BACK = frozenset({Account.UNACCOUNTED, Account.ESCAPED, Account.DEAD, Account.GIVEN_AWAY})


@dataclass(frozen=True, slots=True)
class Entry:
    """One standing event of the log with its postings; `box` is its subject, empty if that is none."""

    event: str
    at_ms: int
    kind: str
    box: str
    fields: Mapping[str, Json]
    postings: tuple[Posting, ...] = ()


@dataclass(slots=True)
class _Gone:
    """Animals that left the boxes: their lot, how many, where to, when and by which event."""

    lot: Lot
    n: int
    account: str
    at_ms: int
    event: str


@dataclass(slots=True)
class Walk:
    """A walk along the history: lots by line, those gone, and when each box was last looked into."""

    lots: dict[Line, dict[Lot, int]] = field(default_factory=dict)
    boxes: dict[str, set[Line]] = field(default_factory=dict)
    gone: dict[str, list[_Gone]] = field(default_factory=dict)
    drawn: list[tuple[Lot, int, int, str]] = field(default_factory=list)
    looked_ms: dict[str, int] = field(default_factory=dict)
    clutches: dict[str, Lot] = field(default_factory=dict)

    def step(self, entry: Entry, kind: Kind | None) -> None:
        """Carry one event into the lots."""
        witnesses = kind is not None and kind.witness is not Witness.NONE
        has_moved = False
        for first, second in zip(entry.postings[::2], entry.postings[1::2], strict=True):
            source, target = (first, second) if first.delta < 0 else (second, first)
            self._shift(entry, source, target, witnesses)
            has_moved = has_moved or source.account == PRESENT
        if kind is None or not witnesses:
            return
        census = kind.census
        if census is not None and _is_complete(census.complete, entry.fields):
            for line in self._scope(entry, kind):
                self._see(line, entry.at_ms, sum(self.lots[line].values()))
        elif not kind.moves:
            self._sight(entry, kind)
        self.looked_ms[entry.box] = entry.at_ms

    def _shift(self, entry: Entry, source: Posting, target: Posting, witnesses: bool) -> None:
        """Carry the animals of one pair of postings from where they were to where they are."""
        n, here = target.delta, target.line
        if source.account == PRESENT:
            is_loss = target.account in (Account.DEAD, Account.UNACCOUNTED)
            taken = self._take(source.line, n, by_sight if is_loss else by_entry)
        elif source.account in _BACK:
            taken = self._restore(source.account, here, n, entry)
        else:
            taken = [(self._newcomer(source.account, here, entry), n)]
        for lot, k in taken:
            if target.account == PRESENT:
                self._arrive(lot, k, here, entry, witnesses or source.account != PRESENT)
            else:
                self.gone.setdefault(lot.line.cohort, []).append(
                    _Gone(lot, k, target.account, entry.at_ms, entry.event)
                )

    def _take(self, line: Line, n: int, order: Callable[[Lot], tuple[float, ...]]) -> list[tuple[Lot, int]]:
        """Take `n` animals off a line in an order of lots."""
        held, taken = self.lots.get(line, {}), []
        for lot in sorted(held, key=order):
            k = min(n, held[lot])
            if k <= 0:
                break
            taken.append((lot, k))
            n -= k
            held[lot] -= k
            if held[lot] == 0:
                del held[lot]
        return taken

    def _restore(self, account: str, line: Line, n: int, entry: Entry) -> list[tuple[Lot, int]]:
        """Bring back animals that were gone: the latest of their cohort, of the same stage before others."""
        gone = self.gone.get(line.cohort, [])
        back: list[tuple[Lot, int]] = []
        order = sorted(range(len(gone)), key=lambda i: (gone[i].lot.line.stage is line.stage, i), reverse=True)
        for i in order:
            if gone[i].account == account and gone[i].lot.line.stage.rank <= line.stage.rank and n > 0:
                k = min(n, gone[i].n)
                gone[i].n -= k
                n -= k
                back.append((gone[i].lot, k))
        self.gone[line.cohort] = [item for item in gone if item.n > 0]
        return [*back, (_unknown(line, entry.at_ms), n)] if n > 0 else back

    def _newcomer(self, account: str, line: Line, entry: Entry) -> Lot:
        """Return the lot of animals that come from outside."""
        at_ms = entry.at_ms
        if account == Account.LAID and line.stage is Stage.EGG:
            lot = Lot(line, at_ms, min(self.looked_ms.get(line.box, at_ms), at_ms), at_ms, at_ms)
            self.clutches.setdefault(line.cohort, lot)
            return lot
        first = self.clutches.get(line.cohort)
        if account == Account.REVISED and first is not None:
            # More hatched than were estimated: those eggs were there all along.
            return replace(first, line=replace(line, stage=Stage.EGG), seen_ms=max(
                first.seen_ms, min(self.looked_ms.get(line.box, first.seen_ms), at_ms)))  # fmt: skip
        return _unknown(line, at_ms)

    def _arrive(self, lot: Lot, n: int, line: Line, entry: Entry, seen: bool) -> None:
        """Put animals on a line: in another box, sex, stage or cohort than before."""
        at_ms = entry.at_ms
        if lot.line.cohort != line.cohort:
            self.drawn.append((lot, n, at_ms, entry.event))
            lot = Lot(line, at_ms, None, None, at_ms)
        elif lot.line.stage is not line.stage:
            left = Stint(lot.line.stage, lot.entered_after_ms, lot.entered_ms, lot.seen_ms, at_ms, entry.event)
            lot = Lot(line, lot.came_ms, lot.seen_ms, at_ms, at_ms, (*lot.past, left))
        else:
            lot = replace(lot, line=line, seen_ms=at_ms if seen else lot.seen_ms)
        held = self.lots.setdefault(line, {})
        held[lot] = held.get(lot, 0) + n
        self.boxes.setdefault(line.box, set()).add(line)

    def _scope(self, entry: Entry, kind: Kind) -> list[Line]:
        """Return the lines of the box that an event can have seen."""
        lines = [line for line in self.boxes.get(entry.box, ()) if self.lots.get(line)]
        return [
            line
            for line in sorted(lines)
            if (not kind.stages or line.stage in kind.stages)
            and (not kind.selectors or all(entry.fields.get(s) in (None, "", getattr(line, s)) for s in _SCOPE))
        ]

    def _sight(self, entry: Entry, kind: Kind) -> None:
        """Note a sighting of some: of each line only as many as must be among them."""
        said = entry.fields.get(kind.census.n) if kind.census and isinstance(kind.census.n, str) else None
        said = entry.fields.get("n") if said is None else said
        k = said if isinstance(said, int) and not isinstance(said, bool) else 1
        lines = self._scope(entry, kind)
        sizes = {line: sum(self.lots[line].values()) for line in lines}
        for line in lines:
            self._see(line, entry.at_ms, k - (sum(sizes.values()) - sizes[line]))

    def _see(self, line: Line, at_ms: int, k: int) -> None:
        """Note that `k` animals of a line were alive, the most recently seen ones."""
        held = self.lots[line]
        for lot in sorted(held, key=by_sight, reverse=True):
            n = min(k, held[lot])
            if n <= 0:
                break
            k -= n
            held[lot] -= n
            if held[lot] == 0:
                del held[lot]
            seen = replace(lot, seen_ms=max(at_ms, lot.seen_ms))
            held[seen] = held.get(seen, 0) + n

    def passages(self) -> tuple[Passage, ...]:
        """Return what became of every animal, stage by stage, in one order whatever the history."""
        found: list[Passage] = []
        for held in self.lots.values():
            for lot, n in held.items():
                found += lot.passages(n, End.PRESENT, "", None)
        for items in self.gone.values():
            for item in items:
                found += item.lot.passages(item.n, ENDS[Account(item.account)], item.event, item.at_ms)
        for lot, n, at_ms, event in self.drawn:
            found += replace(lot, seen_ms=at_ms).passages(n, End.REMOVED, event, at_ms)
        return tuple(sorted(found, key=_order))


def walk(entries: Iterable[Entry], vocabulary: Vocabulary) -> tuple[Passage, ...]:
    """Return the passages of all animals through their stages, up to the last of the entries.

    Parameters
    ----------
    entries : standing events that moved animals or witness them, in the order of history
    vocabulary : says which kinds are evidence of living animals; a feeding is none

    Notes
    -----
    The numbers add up: of each cohort, those that came in are those that ended in its last passages, one by one.
    See the module for how animals of a group are told apart.
    """
    steps = Walk()
    for entry in entries:
        steps.step(entry, vocabulary.get(entry.kind))
    return steps.passages()


def _unknown(line: Line, at_ms: int) -> Lot:
    return Lot(line, at_ms, None, None, at_ms)


def _is_complete(complete: bool | str, fields: Mapping[str, Json]) -> bool:
    return complete if isinstance(complete, bool) else fields.get(complete) is not False


def _order(passage: Passage) -> tuple[object, ...]:
    nothing = -(1 << 62)
    return (
        passage.cohort, passage.came_ms, passage.stage.rank,
        nothing if passage.entered_ms is None else passage.entered_ms,
        nothing if passage.entered_after_ms is None else passage.entered_after_ms,
        passage.left_after_ms, nothing if passage.left_ms is None else passage.left_ms,
        passage.end, passage.sex, passage.box, passage.event, passage.n,
    )  # fmt: skip
