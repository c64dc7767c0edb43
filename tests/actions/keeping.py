"""A keeper for tests: logs and asks through the actions, on the fake device, with a clock that they set."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from boxside.actions import add_box, list_due, log_event
from boxside.actions.context import zone_of
from boxside.actions.dues import refresh
from boxside.actions.services import Services
from boxside.catalog.catalog import Catalog
from boxside.core.ledger import totals
from boxside.core.ledger.totals import Totals
from boxside.core.values.due import Due
from boxside.core.values.event import Draft
from boxside.core.values.moments import local_ms
from boxside.core.values.views import NewBox, RoundView, Saved
from boxside.device import fake
from boxside.store import Store, open_store, reading

EVENING = 20 * 60
STANDING_TABLES = (
    "SELECT * FROM posting ORDER BY box, visit_ms, phase, at_ms, event_id, nth",
    "SELECT * FROM balance WHERE n <> 0 ORDER BY box, cohort, stage, instar, sex, account",
    "SELECT * FROM flag ORDER BY event_id, flag",
    "SELECT * FROM latest ORDER BY subject_type, subject_id, kind, key",
    "SELECT * FROM entity ORDER BY type, id",
)
KEPT_TABLES = (
    "SELECT * FROM event ORDER BY row",
    "SELECT * FROM struck ORDER BY event_id",
    "SELECT * FROM touch ORDER BY subject_type, subject_id, visit_ms, phase, at_ms, event_id",
    *STANDING_TABLES,
)


def digest_of(store: Store, statements: tuple[str, ...]) -> str:
    """Return the sha256 over the rows of some statements."""
    whole = hashlib.sha256()
    for sql in statements:
        for row in store.rows(sql):
            cells = [cell.hex() if isinstance(cell, bytes) else cell for cell in row]
            whole.update(json.dumps(cells).encode())
    return whole.hexdigest()


@dataclass(slots=True)
class Keeper:
    """Somebody at the shelf on a day."""

    services: Services

    def stand(self, day: str | date, minute: int = EVENING) -> None:
        """Move the clock to a wall-clock minute of a day, in the zone of the device."""
        on = date.fromisoformat(day) if isinstance(day, str) else day
        clock = self.services.clock
        assert isinstance(clock, fake.FakeClock)
        clock.at_ms = local_ms(on, minute, ZoneInfo(clock.zone))

    def at(self, day: str, minute: int = EVENING) -> int:
        """Return the instant of a wall-clock minute of a day in the keeper's zone."""
        return local_ms(date.fromisoformat(day), minute, zone_of(self.services))

    def wait(self, minutes: float) -> None:
        """Let some minutes pass."""
        clock = self.services.clock
        assert isinstance(clock, fake.FakeClock)
        clock.at_ms += round(minutes * 60_000)

    def add(self, label: str, stage: str = "larva", n: int | None = 30, **more: Any) -> Saved:
        """Make a box with animals."""
        return add_box.add_box(self.services, NewBox(label, stage, n if stage else None, **more))

    def id(self, label: str) -> str:
        """Return the id of an open box."""
        (box,) = reading.boxes_labelled(self.services.store, label)
        return box.id

    def log(self, code: str, kind: str, /, at_ms: int | None = None, visit: str = "", **fields: Any) -> Saved:
        """Log something at a box."""
        draft = Draft(kind, "box", self.id(code), fields, at_ms=at_ms, visit=visit or None)
        return log_event.log_event(self.services, draft)

    def dues(self, label: str) -> dict[str, Due]:
        """Return all tasks of a box, due or coming, by name."""
        refresh(self.services)
        return {due.task: due for due in reading.dues_of(self.services.store, self.id(label))}

    def round(self, passed: tuple[str, ...] = (), box_id: str = "") -> RoundView:
        """Return the box to stand at."""
        return list_due.round_view(self.services, passed, box_id)

    def due_labels(self) -> list[str]:
        """Return the codes of today's boxes, most pressing first."""
        return [self.label(box) for box, _ in list_due.due_today(self.services)]

    def label(self, box_id: str) -> str:
        """Return the code of a box."""
        box = reading.entity(self.services.store, "box", box_id)
        assert box is not None
        return box.shown

    def n(self, label: str) -> int:
        """Return how many animals are expected in a box."""
        box = self.id(label)
        return sum(n for _, n in reading.lines(self.services.store, [box])[box])

    def totals(self) -> Totals:
        """Return where all animals of the colony are."""
        return totals({(line, account): n for line, account, n in reading.balances(self.services.store)})

    def n_events(self) -> int:
        """Return how many entries the log has."""
        found = self.services.store.row("SELECT count(*) FROM event")
        assert found is not None
        return int(found[0])

    def standing(self) -> str:
        """Return the digest of all that follows from the entries that count."""
        return digest_of(self.services.store, STANDING_TABLES)

    def kept(self) -> str:
        """Return the digest of the log and all that follows from it."""
        return digest_of(self.services.store, KEPT_TABLES)

    def restart(self) -> None:
        """Close the log and open it again, as after the app was closed."""
        store, device = self.services.store, self.services.device
        store.close()
        self.services = Services(open_store(device.data_dir, store.vocabulary), device, self.services.catalog)


def keeper_in(folder: Path, catalog: Catalog, day: str = "2026-05-03", zone: str = "Europe/Berlin") -> Keeper:
    """Return a keeper whose log is in a folder, on the evening of a day."""
    at_ms = local_ms(date.fromisoformat(day), EVENING, ZoneInfo(zone))
    device = fake.build(folder, at_ms, seed=f"{folder.name} {day}", zone=zone)
    return Keeper(Services(open_store(folder, catalog.vocabulary), device, catalog))
