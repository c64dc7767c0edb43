"""The composition root: builds store, device and catalog for a platform and hands them down."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import date
from importlib import import_module
from pathlib import Path

from boxside.actions.services import Services
from boxside.catalog.catalog import load_catalog
from boxside.core.values.errors import StoreError
from boxside.core.values.moments import local_ms
from boxside.core.values.vocabulary import Vocabulary
from boxside.device.folders import bundled
from boxside.device.ports import Clock, Device
from boxside.store import DamagedError, Store, open_store
from boxside.store.photos import sweep
from boxside.store.snapshots import take

EVENING_MINUTE = 20 * 60


def platform() -> str:
    """Return the name of the platform that this runs on."""
    return "android" if "ANDROID_ARGUMENT" in os.environ else "desktop"


def build(data: str | Path | None = None, on: date | None = None) -> Services:
    """Return the services on a data folder.

    Parameters
    ----------
    data : the data folder; None for the platform's own
    on : stand on this day, at eight in the evening, with ids that follow from day and log, so that a run
        can be repeated byte for byte; None for now

    A log that is damaged is repaired; the start then says so.

    Raises
    ------
    StoreError : if the log cannot be opened
    DataError : if a file in `shared/` is wrong
    """
    parts = import_module(f"boxside.device.{platform()}")
    folder = Path(data) if data is not None else parts.default_data_dir()
    device: Device = parts.build(folder)
    catalog = load_catalog(bundled("shared"))
    store = _open(folder, catalog.vocabulary, device.clock)
    sweep(store, folder, device.clock.now_ms())
    if on is not None:
        device = standing_on(device, on, store.row("SELECT count(*) FROM event"))
    return Services(store, device, catalog)


def _open(folder: Path, vocabulary: Vocabulary, clock: Clock) -> Store:
    """Open the log, with a copy set aside before its form is changed; a damaged one is repaired first."""

    def keep_copy(store: Store) -> None:
        take(store, "update", clock.now_ms())

    try:
        return open_store(folder, vocabulary, keep_copy)
    except DamagedError as damage:
        # Repairing is seldom, and what it needs is not loaded otherwise.
        from boxside.store.repairing import repair

        try:
            done = repair(folder, vocabulary, clock.now_ms(), damage.reason)
        except StoreError as refusal:
            raise damage from refusal
        store = open_store(folder, vocabulary, keep_copy)
        store.repaired = done
        return store


def standing_on(device: Device, on: date, state: object) -> Device:
    """Return a device whose clock stands on a day and whose chance can be repeated."""
    from zoneinfo import ZoneInfo

    from boxside.device.fake import FakeClock, SeededChance

    zone = device.clock.zone_name()
    clock = FakeClock(local_ms(on, EVENING_MINUTE, ZoneInfo(zone)), zone, tick_ms=1)
    return replace(device, clock=clock, chance=SeededChance(f"{on}|{state}"))
