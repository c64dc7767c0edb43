"""Which events of the log stand, kept up to date as voids and corrections arrive."""

from __future__ import annotations

from boxside.core.ledger import Standing, standings
from boxside.core.values.event import Event
from boxside.store.connection import Store
from boxside.store.rows import EVENT_COLUMNS, event_of


def settle(store: Store, event: Event) -> list[tuple[Event, bool]]:
    """Settle the chain of corrections that `event`, just inserted, belongs to.

    Returns every event of the chain whose standing changed, with whether it counts now; the new event
    itself is among them when it counts.
    """
    if event.kind == "void" or event.replaces or is_named(store, event.id):
        chain = chain_of(store, event)
        return _apply(store, event, chain)
    return [(event, True)]


def is_named(store: Store, event_id: str) -> bool:
    """Return whether a void or a correction names an event."""
    sql = "SELECT EXISTS (SELECT 1 FROM event WHERE voids = ?) OR EXISTS (SELECT 1 FROM event WHERE replaces = ?)"
    found = store.row(sql, (event_id, event_id))
    return bool(found and found[0])


def chain_of(store: Store, event: Event) -> list[Event]:
    """Return all events linked to `event` by corrections, with the voids that name them."""
    chain: dict[str, Event] = {}
    waiting = [event.id, event.voids, event.replaces]
    while waiting:
        event_id = waiting.pop()
        if event_id is None or event_id in chain:
            continue
        found = store.row(f"SELECT {EVENT_COLUMNS} FROM event WHERE id = ?", (event_id,))
        if found is None:
            continue
        link = event_of(found)
        chain[event_id] = link
        waiting.append(link.replaces)
        naming = store.rows("SELECT id FROM event WHERE voids = ? OR replaces = ?", (event_id, event_id))
        waiting.extend(row[0] for row in naming)
    return list(chain.values())


def _apply(store: Store, event: Event, chain: list[Event]) -> list[tuple[Event, bool]]:
    """Write what the chain's standing has become and return what changed."""
    now = standings(chain)
    changed: list[tuple[Event, bool]] = []
    for link in chain:
        row = store.row("SELECT why, by_event FROM struck WHERE event_id = ?", (link.id,))
        before = Standing(*row) if row else None
        after = now.get(link.id)
        if before != after:
            write(store, link.id, after)
        counted = before is None and link.id != event.id
        if counted != (after is None) and link.kind != "void":
            changed.append((link, after is None))
    return changed


def write(store: Store, event_id: str, standing: Standing | None) -> None:
    """Keep why an event does not count, or that it does."""
    store.run("DELETE FROM struck WHERE event_id = ?", (event_id,))
    if standing is not None:
        store.run("INSERT INTO struck VALUES (?, ?, ?)", (event_id, standing.why, standing.by))
