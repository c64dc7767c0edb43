"""What all rows of a run share: where the logs are, how long they are, and services on them."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from pathlib import Path

from boxside.actions.services import Services
from boxside.catalog.catalog import Catalog
from boxside.device import fake
from boxside.store import open_store
from tests.bench.logs import NOW_MS, catalog, kept


@dataclass(frozen=True, slots=True)
class Bench:
    """One run: `folder` keeps logs from run to run, `work` is thrown away; `sizes` go from short to long."""

    folder: Path
    work: Path
    sizes: tuple[int, ...]
    n_times: int
    parts: Catalog = field(default_factory=catalog)

    def services(self, n_events: int, name: str) -> Services:
        """Return services on a copy of a log of that length, which the row may write to."""
        place = self.work / f"{name}-{n_events}"
        shutil.copytree(kept(self.folder, n_events, self.parts), place)
        return Services(open_store(place, self.parts.vocabulary), fake.build(place, NOW_MS), self.parts)
