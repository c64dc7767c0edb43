"""What is due today: fifty boxes of five hundred with tasks, days and reasons, however long the history."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from boxside.actions.context import today
from boxside.actions.dues import due_on
from boxside.actions.services import Services
from tests.bench.logs import N_BOXES, N_DUE
from tests.bench.row_save import connection_of
from tests.bench.setting import Bench
from tests.bench.table import Row, size_text, time_text
from tests.bench.timing import in_turns

BAR_S = 0.020
_SQL = (
    "SELECT d.box, d.task, d.earliest, d.due_on, d.latest, d.urgency, d.reasons FROM due d JOIN entity b "
    "ON b.type = 'box' AND b.id = d.box AND b.open = 1 WHERE d.due_on <= ? ORDER BY d.due_on, d.box, d.task"
)


def by_app(services: Services) -> Callable[[], object]:
    """Return the question as the app asks it."""
    return lambda: due_on(services, today(services))


def by_hand(services: Services) -> Callable[[], object]:
    """Return the same rows straight from the state."""
    connection, day = connection_of(services.store), today(services).isoformat()
    return lambda: connection.execute(_SQL, (day,)).fetchall()


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the list of what is due at each length of history, and how it grows."""
    shelves = [bench.services(n, "due") for n in bench.sizes]
    for services in shelves:
        found = due_on(services, today(services))
        if len(found) != N_DUE or not all(due.reasons for tasks in found.values() for due in tasks):
            raise AssertionError(f"{len(found)} boxes are due, {N_DUE} were meant to be")
    floors = in_turns([by_hand(services) for services in shelves], bench.n_times)
    times = in_turns([by_app(services) for services in shelves], bench.n_times)
    for n, floor_s, time_s in zip(bench.sizes, floors, times, strict=True):
        what = f"{N_DUE} due boxes of {N_BOXES} with reasons, {size_text(n)} events"
        yield Row(what, time_text(floor_s), time_text(time_s), time_s / floor_s, "<= 20 ms", time_s <= BAR_S)
    growth = times[-1] / times[0]
    lengths = f"{size_text(bench.sizes[-1])} against {size_text(bench.sizes[0])} events"
    yield Row(f"due boxes, {lengths}", time_text(times[0]), time_text(times[-1]), growth, "<= 1.2x", growth <= 1.2)
    for services in shelves:
        services.store.close()
