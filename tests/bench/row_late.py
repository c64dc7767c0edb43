"""A late entry whose consequences go on for ten thousand others, against a rebuild of everything."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from boxside.core.values.event import Event, Json
from boxside.core.values.ids import uuid7
from boxside.store import Store, saving
from boxside.store.rebuild import rebuild, state_digest
from tests.bench.logs import NOW_MS, Writer, boxes, make
from tests.bench.setting import Bench
from tests.bench.table import Row, time_text
from tests.bench.timing import side_by_side

N_LEDGER_EVENTS = 10_000
_MINUTE_MS = 60_000
_BEGIN_MS = NOW_MS - (N_LEDGER_EVENTS + 100) * _MINUTE_MS


@dataclass(frozen=True, slots=True)
class Shape:
    """How the entries hang together: boxes, and the share of transfers among the entries."""

    what: str
    n_boxes: int
    transfers: float
    all_move: bool = False


SHAPES = (
    Shape("deaths in one box", 1, 0.0),
    Shape("deaths and transfers between two boxes", 2, 0.5),
    Shape("whole boxes moved among fifty", 50, 0.8, all_move=True),
)


def component(shape: Shape, n: int) -> Iterator[Event]:
    """Yield `n` ledger entries that all follow from the first ones."""
    writer = Writer(random.Random(5))
    chance, shelf = writer.chance, boxes()[: shape.n_boxes]
    at_ms = _BEGIN_MS
    for nth, box in enumerate(shelf):
        stocked: dict[str, Json] = {"cohort": uuid7(5000 + nth % 3, nth % 3, nth % 3), "n": 5000, "stage": "larva"}
        yield writer.event("stocked", ("box", box), at_ms, stocked)
    for _ in range(n - len(shelf)):
        at_ms += _MINUTE_MS
        box = chance.choice(shelf)
        if chance.random() < shape.transfers:
            other = chance.choice([one for one in shelf if one != box])
            some: dict[str, Json] = {} if shape.all_move else {"n": chance.randint(1, 20)}
            yield writer.event("transfer", ("box", box), at_ms, {"to_box": other, **some})
        else:
            yield writer.event("died", ("box", box), at_ms, {"n": 1})


def _late(store: Store) -> Callable[[], object]:
    """Return what books one more late death, right after the first entries."""
    writer, box = Writer(random.Random(6), device=uuid7(2, 2, 2)), boxes()[0]

    def act() -> None:
        event = writer.event("died", ("box", box), _BEGIN_MS + writer.seq + 1, {"n": 1})
        with saving(store) as log:
            log.append(event)

    return act


def _rebuild(store: Store) -> Callable[[], object]:
    def act() -> None:
        with saving(store):
            rebuild(store)

    return act


def rows(bench: Bench) -> Iterator[Row]:
    """Yield each shape's late entry against a rebuild of the same log."""
    n = min(N_LEDGER_EVENTS, bench.sizes[0])
    for shape in SHAPES:
        store = make(bench.work / f"late-{shape.n_boxes}", component(shape, n), bench.parts)
        pair = side_by_side(_rebuild(store), _late(store), 5)
        digest = state_digest(store)
        _rebuild(store)()
        if state_digest(store) != digest:
            raise AssertionError("a late entry left other rows than a rebuild")
        store.close()
        what = f"a late entry before {n:,} others: {shape.what}"
        shown = time_text(pair.floor_s), time_text(pair.measured_s)
        yield Row(what, *shown, pair.ratio, "<= 1x a rebuild", pair.ratio <= 1.0)
