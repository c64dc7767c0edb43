"""The state brought up to date after many events came at once: only what they touch, or all where that is less work."""

from __future__ import annotations

from collections.abc import Iterator

from boxside.core.ledger import Standing, standings
from boxside.core.values.event import Event
from boxside.store import standing
from boxside.store.connection import Store
from boxside.store.entities import refresh_entity
from boxside.store.filing import Filed, filed
from boxside.store.rebuild import events_after, rebuild
from boxside.store.refold import refolded
from boxside.store.touches import INSERT_TOUCH, refresh_latest, touch_rows

# Beyond either, following each event costs more than deriving all again.
_MOST_SHARE, _MOST = 0.1, 10_000


def catch_up(store: Store, first_row: int) -> None:
    """Bring the state up to date with all events after a row, inside the open transaction.

    The result is that of `rebuild`, whatever the order in which events came.
    """
    sql = "SELECT count(*), sum(row > ?) FROM event"
    n, n_new = store.row(sql, (first_row,)) or (0, 0)
    forget_dues(store)
    if n_new > min(_MOST, _MOST_SHARE * n):
        rebuild(store)
        return
    changed = list(_changed(store, first_row))
    late: dict[str, Filed] = {}
    for event, counts in changed:
        entry = filed(event, store.vocabulary)
        refresh_latest(store, entry, counts)
        if entry.kind is not None and entry.kind.sets:
            refresh_entity(store, entry, entry.kind)
        if entry.is_booked:
            late[event.id] = entry
    if late:
        refolded(store, late)


def forget_dues(store: Store) -> None:
    """Let what is due be worked out again for all boxes."""
    store.run("DELETE FROM due_box")
    store.aside.clear()


def _changed(store: Store, first_row: int) -> Iterator[tuple[Event, bool]]:
    """File the new events; yield every event, old or new, that began or ceased to count, with whether it does."""
    linked: list[Event] = []
    for event in events_after(store, first_row):
        store.run_many(INSERT_TOUCH, touch_rows(filed(event, store.vocabulary)))
        if event.kind == "void" or event.replaces or standing.is_named(store, event.id):
            linked.append(event)
        else:
            yield event, True
    settled: set[str] = set()
    for event in linked:
        if event.id not in settled:
            chain = standing.chain_of(store, event)
            settled |= {link.id for link in chain}
            yield from _settled(store, chain, first_row)


def _settled(store: Store, chain: list[Event], first_row: int) -> Iterator[tuple[Event, bool]]:
    """Settle one chain of corrections; yield what of it began or ceased to count."""
    now = standings(chain)
    for link in chain:
        row = store.row("SELECT why, by_event FROM struck WHERE event_id = ?", (link.id,))
        before, after = (Standing(*row) if row else None), now.get(link.id)
        if before != after:
            standing.write(store, link.id, after)
        counted = before is None and _is_old(store, link.id, first_row)
        if counted != (after is None) and link.kind != "void":
            yield link, after is None


def _is_old(store: Store, event_id: str, first_row: int) -> bool:
    row = store.row("SELECT row FROM event WHERE id = ?", (event_id,))
    return row is not None and int(row[0]) <= first_row
