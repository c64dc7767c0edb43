"""The ledger on disk: what was present when, and an event booked as the newest of its boxes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from boxside.core.ledger import Fold
from boxside.core.values.ledger import Line, Posting
from boxside.core.values.stages import Sex, Stage
from boxside.store.connection import Store
from boxside.store.filing import Filed, Place, place_of

INSERT_POSTING = "INSERT INTO posting VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
INSERT_FLAG = "INSERT OR IGNORE INTO flag VALUES (?, ?)"
UPSERT_BALANCE = """
INSERT INTO balance VALUES (?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (box, cohort, stage, instar, sex, account) DO UPDATE SET n = balance.n + excluded.n
"""
# Looked up rather than called: a refold reads tens of thousands of lines.
_STAGES = {str(stage): stage for stage in Stage}
_SEXES = {str(sex): sex for sex in Sex}
_IS_LATER = (
    "SELECT 1 FROM touch WHERE ledger = 1 AND subject_id = ? AND (visit_ms, phase, at_ms, event_id) > (?, ?, ?, ?) "
    "LIMIT 1"
)
_PRESENT = "SELECT box, cohort, stage, instar, sex, n FROM balance WHERE box = ? AND account = '' AND n <> 0"
_LINE_SUMS = "SELECT box, cohort, stage, instar, sex, sum(delta) FROM posting WHERE box = ? AND account = '' "
_BY_LINE = "GROUP BY cohort, stage, instar, sex"
_PLACE = "(visit_ms, phase, at_ms, event_id)"
_FROM = f"{_LINE_SUMS} AND {_PLACE} >= (?, ?, ?, ?) {_BY_LINE}"
_BETWEEN = f"{_LINE_SUMS} AND {_PLACE} > (?, ?, ?, ?) AND {_PLACE} < (?, ?, ?, ?) {_BY_LINE}"


def is_last(store: Store, boxes: Iterable[str], place: Place) -> bool:
    """Return whether no ledger event of these boxes comes after a place."""
    return not any(store.row(_IS_LATER, (box, *place)) for box in boxes)


def present(store: Store, boxes: Iterable[str]) -> dict[Line, int]:
    """Return the animals now present in the given boxes, line by line."""
    return {line_of(row): row[5] for box in boxes for row in store.rows(_PRESENT, (box,))}


def present_before(store: Store, box: str, place: Place) -> dict[Line, int]:
    """Return what the postings now stored say was present in a box before a place in the history."""
    later = {line_of(row): -row[5] for row in store.rows(_FROM, (box, *place))}
    return plus(present(store, [box]), later)


def booked_between(store: Store, box: str, after: Place, before: Place) -> dict[Line, int]:
    """Return what the postings now stored between two places, neither included, change in a box."""
    return {line_of(row): row[5] for row in store.rows(_BETWEEN, (box, *after, *before)) if row[5]}


def append_last(store: Store, entry: Filed) -> None:
    """Book an event that is the newest of all its boxes: the cost is that of its own moves."""
    folded = Fold.of(entry.event, entry.kind, present(store, entry.boxes))
    store.run_many(INSERT_POSTING, [posting_row(entry.place, nth, one) for nth, one in enumerate(folded.postings)])
    store.run_many(UPSERT_BALANCE, [(*balance_key(one), one.delta) for one in folded.postings])
    for flag in folded.flags:
        store.run(INSERT_FLAG, (entry.event.id, flag))


def posting_row(place: Place, nth: int, posting: Posting) -> tuple[object, ...]:
    """Return the row that keeps a posting."""
    line = posting.line
    return (
        line.box, *place, nth, line.cohort, str(line.stage), line.instar, str(line.sex), posting.account, posting.delta,
    )  # fmt: skip


def balance_key(posting: Posting) -> tuple[str, str, str, int, str, str]:
    """Return the key of the balance that a posting changes."""
    line = posting.line
    return (line.box, line.cohort, str(line.stage), line.instar, str(line.sex), posting.account)


def plus(lines: dict[Line, int], shifts: dict[Line, int]) -> dict[Line, int]:
    """Return balances after shifts; lines without animals are left out."""
    moved = {**lines}
    for line, n in shifts.items():
        moved[line] = moved.get(line, 0) + n
        if not moved[line]:
            del moved[line]
    return moved


def line_of(row: tuple[Any, ...]) -> Line:
    """Return the line of a row that begins with box, cohort, stage, instar and sex."""
    return Line(row[0], row[1], _STAGES[row[2]], row[3], _SEXES[row[4]])


__all__ = [
    "INSERT_FLAG", "INSERT_POSTING", "UPSERT_BALANCE", "Place", "append_last", "balance_key", "booked_between",
    "is_last", "line_of", "place_of", "plus", "posting_row", "present", "present_before",
]  # fmt: skip
