"""The first start, and every other."""

from __future__ import annotations

from boxside.actions.context import setting
from boxside.actions.log_event import log_all
from boxside.actions.services import Services
from boxside.actions.settings import COLONY
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.core.values.views import Notice, StartView
from boxside.store import reading


def start_view(services: Services) -> StartView:
    """Return whether the log is new, and how the screen should look."""
    why = services.store.why_read_only
    notice = Notice(f"Nothing can be logged: {why}.", "Everything logged before is safe.", bad=True) if why else None
    notice = notice or opening_notice(services)
    return StartView(
        is_new=reading.is_empty(services.store),
        theme=setting(services, "theme"),
        notice=notice,
        keep_awake=setting(services, "keep_awake") == "on",
    )


def opening_notice(services: Services) -> Notice | None:
    """Return that the log was damaged and repaired when it was opened, or None; said once."""
    done, services.store.repaired = services.store.repaired, None
    if done is None:
        return None
    from boxside.actions.repair_log import repaired_notice

    return repaired_notice(services, done)


def begin_empty(services: Services) -> StartView:
    """Begin with an empty shelf: the zone is kept as the first setting, so that the log is begun."""
    fields = {"key": "zone", "value": services.clock.zone_name()}
    log_all(services, [Draft("setting_changed", "colony", COLONY, dict(fields))])
    return start_view(services)


def begin_demo(services: Services) -> StartView:
    """Fill an empty log with the invented colony, to try things out.

    Raises
    ------
    EntryError : if something was logged here already; nothing was changed
    """
    from boxside.actions.demo_colony import fill

    if not reading.is_empty(services.store):
        raise EntryError("There is a log here already. Nothing was changed. The demo needs an empty one.")
    fill(services)
    return start_view(services)
