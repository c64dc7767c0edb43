"""Copies of the log set aside: once a day, and before what might go wrong."""

from __future__ import annotations

from boxside.actions.context import zone_of
from boxside.actions.services import Services
from boxside.core.values.keeping import SnapshotRow
from boxside.core.values.moments import day_of
from boxside.store import merging, snapshots
from boxside.store.snapshots import Snapshot

_WHY = {"daily": "once a day", "merge": "before a merge", "update": "before an update", "import": "before an import"}


def take_snapshot(services: Services, why: str) -> Snapshot:
    """Set a copy of the log aside; `why` is one word, such as daily, merge or import.

    Raises
    ------
    StoreError : if the disk refuses; nothing was changed
    """
    return snapshots.take(services.store, why, services.clock.now_ms())


def snapshot_due(services: Services) -> bool:
    """Return whether the log has grown since its last copy, and that copy is of another day."""
    n_events = merging.last_row(services.store)
    newest = next(iter(snapshots.snapshots(services.device.data_dir)), None)
    if n_events == 0 or (newest is not None and newest.n_events == n_events):
        return False
    zone = zone_of(services)
    return newest is None or day_of(newest.at_ms, zone) != day_of(services.clock.now_ms(), zone)


def snapshot_rows(services: Services) -> tuple[SnapshotRow, ...]:
    """Return the copies that there are, newest first."""
    from boxside.actions.wording import moment_text

    now_ms, zone = services.clock.now_ms(), zone_of(services)
    return tuple(
        SnapshotRow(
            one.path.name, moment_text(one.at_ms, zone, now_ms), _WHY.get(one.why, one.why), one.path.stat().st_size
        )
        for one in snapshots.snapshots(services.device.data_dir)
    )
