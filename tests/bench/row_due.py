"""Fifty due boxes with their reasons, out of five hundred, however long the history is."""

from __future__ import annotations

from collections.abc import Callable

from boxside.actions.dues import due_on, refresh
from boxside.actions.services import Services
from boxside.core.values.moments import day_of
from boxside.store import Store
from tests.bench.logs import NOW_MS

_SQL = (
    "SELECT d.box, d.task, d.earliest, d.due_on, d.latest, d.urgency, d.reasons FROM due d "
    "JOIN entity b ON b.type = 'box' AND b.id = d.box AND b.open = 1 WHERE d.due_on <= ? ORDER BY d.due_on, d.box"
)


def by_sql(store: Store, day: str) -> Callable[[], object]:
    """Return the floor: the same rows by hand, as they stand in the file."""
    connection = store.database.connection()
    return lambda: connection.execute(_SQL, (day,)).fetchall()


def by_actions(services: Services) -> Callable[[], object]:
    """Return what the round asks: due tasks with reasons, most pressing first, the cache looked after."""
    from zoneinfo import ZoneInfo

    refresh(services)
    day = day_of(NOW_MS, ZoneInfo("Europe/Berlin"))
    return lambda: due_on(services, day)
