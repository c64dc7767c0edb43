"""What every action is handed."""

from __future__ import annotations

from dataclasses import dataclass

from boxside.catalog.catalog import Catalog
from boxside.device.ports import Clock, Device
from boxside.store import Store


@dataclass(frozen=True, slots=True)
class Services:
    """The log, the device and the catalog."""

    store: Store
    device: Device
    catalog: Catalog

    @property
    def clock(self) -> Clock:
        """The device's clock."""
        return self.device.clock
