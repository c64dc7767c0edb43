"""What must not cost more with a longer history: a save, and a tap with the box as it then is."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

from boxside.actions.dues import refresh
from boxside.actions.log_event import log_event
from boxside.actions.services import Services
from boxside.core.values.event import Draft
from boxside.device.fake import FakeClock
from tests.bench.logs import Writer, boxes
from tests.bench.row_save import by_store, next_events
from tests.bench.setting import Bench
from tests.bench.table import Row, size_text, time_text
from tests.bench.timing import in_turns

BAR = 1.2


def _save(services: Services, kind: str) -> Callable[[], object]:
    make, save = next_events(services.store, kind, boxes(), Writer(random.Random(5))), by_store(services.store)

    def act() -> None:
        save(make())
        services.store.checkpoint()

    return act


def _tap(services: Services) -> Callable[[], object]:
    shelf = iter(boxes() * 100)
    clock = services.clock
    assert isinstance(clock, FakeClock)

    def act() -> None:
        clock.at_ms += 60_000
        log_event(services, Draft("fed", "box", next(shelf)))

    return act


def rows(bench: Bench) -> Iterator[Row]:
    """Yield saves and taps on the longest log against the shortest, in turns."""
    shelves = [bench.services(n, "growth") for n in bench.sizes]
    for services in shelves:
        refresh(services)
    lengths = f"{size_text(bench.sizes[-1])} against {size_text(bench.sizes[0])} events"
    kinds: list[tuple[str, Callable[[Services], Callable[[], object]]]] = [
        ("a save of a feeding", lambda services: _save(services, "fed")),
        ("a save of a death", lambda services: _save(services, "died")),
        ("a tap: checked, saved, the box as it then is", _tap),
    ]
    for what, act in kinds:
        times = in_turns([act(services) for services in shelves], bench.n_times)
        growth = times[-1] / times[0]
        shown = time_text(times[0]), time_text(times[-1])
        yield Row(f"{what}, {lengths}", *shown, growth, f"<= {BAR}x", growth <= BAR)
    for services in shelves:
        services.store.close()
