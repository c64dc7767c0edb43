"""The fold: each event's postings from the balances before it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from boxside.core.ledger.apportion import apportion
from boxside.core.ledger.effective import standings
from boxside.core.ledger.resolve import landing, scope_of
from boxside.core.ledger.touched import box_of, order_key, touched_boxes
from boxside.core.values.event import Event, Json
from boxside.core.values.ledger import PRESENT, Account, Line, Posting
from boxside.core.values.vocabulary import Census, Kind, Move, Vocabulary

Balances = Mapping[Line, int]
_ACCOUNTS = frozenset(str(account) for account in Account)


@dataclass(frozen=True, slots=True)
class Folded:
    """What one event does: its postings, and flags in words' keys (surplus, unreadable, shared_out)."""

    postings: tuple[Posting, ...] = ()
    flags: tuple[str, ...] = ()


@dataclass(slots=True)
class Fold:
    """One event on its way through the fold; balances are those of the boxes it touches."""

    event: Event
    kind: Kind
    balances: dict[Line, int]
    fields: Mapping[str, Json]
    postings: list[Posting] = field(default_factory=list)
    flags: list[str] = field(default_factory=list)

    @staticmethod
    def of(event: Event, kind: Kind | None, balances: Balances) -> Folded:
        """Return the postings of `event`, given the present animals of each box it touches.

        Parameters
        ----------
        event : the event; never refused, whatever it says
        kind : its declaration; None for a kind that only a newer app knows, which moves nothing
        balances : animals present a line before the event, for all boxes it touches
        """
        if kind is None or not (kind.moves or kind.census) or not box_of(event):
            # Animals are booked where they are; a cohort that is entered before its box has none yet.
            return Folded()
        defaults: dict[str, Json] = {f.name: f.default for f in kind.fields if f.default is not None}
        stated = {**defaults, **{name: said for name, said in event.fields.items() if said is not None}}
        fold = Fold(event, kind, {line: n for line, n in balances.items() if n > 0}, stated)
        for move in kind.moves:
            for part in fold.parts(move):
                fold.move(move, part)
        if kind.census:
            fold.count(kind.census)
        return Folded(tuple(fold.postings), tuple(dict.fromkeys(fold.flags)))

    def parts(self, move: Move) -> Iterator[Mapping[str, Json]]:
        """Yield the fields that one shift reads: the event's own, or each of its listed parts."""
        if not move.each:
            yield self.fields
            return
        listed = self.fields.get(move.each)
        for part in listed if isinstance(listed, list) else ():
            if isinstance(part, dict):
                yield {**self.fields, **part}

    def move(self, move: Move, fields: Mapping[str, Json]) -> None:
        """Shift animals from lines or an account to lines or an account."""
        source = scope_of(move.source, self.event, self.kind, fields)
        origin = _account(move.source, fields)
        if origin == "?" or _account(move.target, fields) == "?":
            return
        if origin:
            n = self.number(move.n, fields, 0)
            seed = source.template(self.balances)
            self.put(landing(move.target, seed, self.event, fields), PRESENT, origin, n)
            return
        groups = source.groups(self.balances)
        there = sum(sum(group.values()) for group in groups)
        n = self.number(move.n, fields, there if move.blank == "all" else 0)
        # The line of the unexpected is that of the box as it was found, before anything was taken.
        template = source.template(self.balances) if n > there else None
        n -= self.take(n, groups, move, fields)
        if template is not None:
            self.flags.append("surplus")
            self.arrive(template, move, fields, n, self.kind.overdraft)

    def take(self, n: int, groups: list[dict[Line, int]], move: Move, fields: Mapping[str, Json]) -> int:
        """Take up to `n` animals from the groups in order of preference; return how many there were."""
        left = n
        for group in groups:
            wanted = min(left, sum(group.values()))
            if 0 < wanted < sum(group.values()) and len(group) > 1:
                self.flags.append("shared_out")
            for line, count in apportion(wanted, group).items():
                self.arrive(line, move, fields, count, "")
            left -= wanted
        return n - left

    def arrive(self, line: Line, move: Move, fields: Mapping[str, Json], n: int, origin: str) -> None:
        """Book `n` animals of `line` (or, with an origin, of an account outside) to the move's target."""
        account = _account(move.target, fields)
        target = line if account else landing(move.target, line, self.event, fields)
        if origin:
            self.put(target, account, origin, n)
        elif target != line or account:
            self.post(line, PRESENT, -n)
            self.post(target, account, n)

    def count(self, census: Census) -> None:
        """Book the difference between what is expected and what was counted, visibly, as unaccounted."""
        n = self.number(census.n, self.fields, -1)
        if n < 0:
            return
        scope = scope_of({}, self.event, self.kind, self.fields)
        lines = {line: there for group in scope.groups(self.balances) for line, there in group.items()}
        extra = n - sum(lines.values())
        if extra > 0:
            found = apportion(extra, lines) if lines else {scope.template(self.balances): extra}
            self.book(found, 1)
        elif extra < 0 and self.is_complete(census):
            self.book(apportion(-extra, lines), -1)

    def book(self, shares: Mapping[Line, int], sign: int) -> None:
        """Book a count's difference, line by line, against the unaccounted."""
        if len(shares) > 1:
            self.flags.append("shared_out")
        for line, n in shares.items():
            self.put(line, PRESENT, Account.UNACCOUNTED, sign * n)

    def is_complete(self, census: Census) -> bool:
        """Return whether every animal was found: only then does a count explain a loss."""
        if isinstance(census.complete, bool):
            return census.complete
        return bool(self.fields.get(census.complete))

    def number(self, n: str | int, fields: Mapping[str, Json], blank: int) -> int:
        """Return how many are meant; `blank` where nothing is said and no default is declared."""
        if isinstance(n, int):
            return n
        said = fields.get(n)
        if said is None:
            return blank
        if isinstance(said, bool) or not isinstance(said, int) or said < 0:
            self.flags.append("unreadable")
            return min(blank, 0)
        return said

    def put(self, line: Line, account: str, origin: str, n: int) -> None:
        """Post `n` animals from an account outside into one of a line's accounts."""
        if n:
            self.post(line, origin, -n)
            self.post(line, account, n)

    def post(self, line: Line, account: str, delta: int) -> None:
        """Append a posting and keep the balances of this event's boxes up to date."""
        self.postings.append(Posting(line, str(account), delta))
        if account == PRESENT:
            there = self.balances.get(line, 0) + delta
            self.balances[line] = there
            if there == 0:
                del self.balances[line]


def _account(side: Mapping[str, Json], fields: Mapping[str, Json]) -> str:
    """Return the account that a side of a move names, empty for lines, `?` for one that is none."""
    named = side.get("account")
    if not isinstance(named, str):
        return ""
    if named.startswith("@"):
        said = fields.get(named[1:])
        named = said if isinstance(said, str) else "unaccounted"
    return named if named in _ACCOUNTS else "?"


@dataclass(frozen=True, slots=True)
class Ledger:
    """All that follows from a log: balances a (line, account), and the postings and flags of each event."""

    balances: Mapping[tuple[Line, str], int]
    folded: Mapping[str, Folded]


def fold_all(events: Iterable[Event], vocabulary: Vocabulary) -> Ledger:
    """Return the ledger of a whole log, whatever the order in which its events are given."""
    events = list(events)
    struck = standings(events)
    standing = [event for event in events if event.id not in struck]
    standing.sort(key=lambda event: order_key(event, vocabulary.get(event.kind)))
    boxes: dict[str, dict[Line, int]] = {}
    balances: dict[tuple[Line, str], int] = {}
    folded: dict[str, Folded] = {}
    for event in standing:
        kind = vocabulary.get(event.kind)
        result = Fold.of(event, kind, _of_boxes(boxes, event, kind))
        folded[event.id] = result
        for posting in result.postings:
            key = (posting.line, posting.account)
            balances[key] = balances.get(key, 0) + posting.delta
            if posting.account == PRESENT:
                lines = boxes.setdefault(posting.line.box, {})
                lines[posting.line] = lines.get(posting.line, 0) + posting.delta
    return Ledger({key: n for key, n in balances.items() if n}, folded)


def _of_boxes(boxes: Mapping[str, dict[Line, int]], event: Event, kind: Kind | None) -> dict[Line, int]:
    lines: dict[Line, int] = {}
    for box in touched_boxes(event, kind):
        lines.update(boxes.get(box, {}))
    return lines
