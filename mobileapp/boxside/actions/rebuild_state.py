"""All state derived again from the log."""

from __future__ import annotations

from boxside.actions.services import Services
from boxside.store import saving
from boxside.store.rebuild import rebuild, state_digest


def rebuild_state(services: Services) -> tuple[str, str, int]:
    """Refold the log; return the state's digest before and after, and how many events there are."""
    before = state_digest(services.store)
    with saving(services.store) as log:
        rebuild(services.store)
        found = log.store.row("SELECT count(*) FROM event")
    services.store.checkpoint()
    return before, state_digest(services.store), int(found[0]) if found else 0
