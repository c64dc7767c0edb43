"""What a keeper does, in every way that writes: the workload of cuts, kills and refusals."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from boxside.catalog.events import read_vocabulary
from boxside.core.values.due import Due
from boxside.core.values.event import Event, Json
from boxside.core.values.ids import uuid7
from boxside.core.values.vocabulary import Vocabulary
from boxside.device.folders import bundled
from boxside.store import Store, cached, photos, reading, saving
from boxside.store.merging import merge
from boxside.store.rebuild import state_digest

START_MS = 1_700_000_000_000
MINUTE_MS = 60_000
BOXES = [uuid7(1, n, n) for n in range(4)]
COHORTS = [uuid7(2, n, n) for n in range(2)]
_DUE = Due(BOXES[0], "feed", date(2026, 5, 3), date(2026, 5, 3), date(2026, 5, 4))
_MERGES = 0.15
_LATER = ("fed", "misted", "died", "count", "transfer", "moulted", "late", "void", "replace", "photo", "unknown")


def vocabulary() -> Vocabulary:
    """Return the vocabulary that the app ships."""
    return read_vocabulary(bundled("shared") / "events.toml")


@dataclass(slots=True)
class Keeper:
    """Writes one event after another; `photo_in` is the folder for photos, None where none are kept.

    With `merges`, some saves take in several events of another phone at once.
    """

    chance: random.Random
    device: str = "phone"
    photo_in: Path | None = None
    merges: bool = False
    n: int = 0
    logged: list[Event] = field(default_factory=list)

    def event(self, kind: str, subject: tuple[str, str], minute: int, fields: dict[str, Json], **links: str) -> Event:
        """Return the next event, of a visit of its own."""
        self.n += 1
        at_ms = START_MS + minute * MINUTE_MS
        bits = self.chance.getrandbits(62)
        return Event(
            id=uuid7(START_MS + self.n, self.n % 4096, bits), kind=kind, subject_type=subject[0],
            subject_id=subject[1], visit=uuid7(at_ms, 0, bits), at_ms=at_ms, offset_min=60, tz="Europe/Berlin",
            logged_ms=START_MS + self.n, device=self.device, seq=self.n, fields=fields, **links,
        )  # fmt: skip

    def deeds(self, begin: bool = True) -> Iterator[Event]:
        """Yield events without end: boxes and animals first, unless they are there, then whatever comes."""
        for nth, box in enumerate(BOXES if begin else ()):
            yield self.event("box_made", ("box", box), nth, {"label": f"B{nth}"})
            yield self.event("stocked", ("box", box), nth, {"cohort": COHORTS[nth % 2], "n": 40, "stage": "larva"})
        for minute in range(10, 1 << 30):
            yield self.next_deed(minute)

    def next_deed(self, minute: int) -> Event:
        """Return one event of any sort."""
        what = self.chance.choice(_LATER)
        box, other = self.chance.sample(BOXES, 2)
        said: dict[str, dict[str, Json]] = {
            "died": {"n": 1}, "count": {"n": self.chance.randrange(60), "complete": True},
            "transfer": {"to_box": other, "n": self.chance.randint(1, 9)},
        }  # fmt: skip
        if what == "late":
            return self.event("died", ("box", box), self.chance.randrange(10, minute + 1), {"n": 2})
        if what == "unknown":
            return self.event("from_a_newer_app", ("box", box), minute, {"odd": [1, {"x": None}]})
        if what == "photo" and self.photo_in is not None:
            picture = self.chance.randbytes(self.chance.randint(1, 20_000))
            return self.event("photo", ("box", box), minute, {"sha256": photos.keep(self.photo_in, picture)})
        targets = [event for event in self.logged if event.kind != "void"]
        if what in ("void", "replace") and targets:
            old = self.chance.choice(targets)
            if what == "void":
                return self.event("void", (old.subject_type, old.subject_id), minute, {}, voids=old.id)
            return self.event("died", ("box", box), minute, {"n": 3}, replaces=old.id)
        kind = "looked" if what in ("photo", "void", "replace") else what
        return self.event(kind, ("box", box), minute, said.get(what, {}))

    def of_another(self, minute: int) -> Event:
        """Return an event of another phone, some of them long past."""
        event = self.next_deed(max(11, minute - START_MS // MINUTE_MS))
        return replace(event, device="another phone")

    def work(self, store: Store, n: int, done: Callable[[Event], None], begin: bool = True) -> None:
        """Save `n` events, each of its own transaction; `done` is told after each, then a due task is kept."""
        source = self.deeds(begin)
        for _ in range(n):
            event = next(source)
            with saving(store) as log:
                if self.merges and self.chance.random() < _MERGES:
                    merge(store, [event, *(self.of_another(event.at_ms // MINUTE_MS) for _ in range(4))])
                else:
                    log.append(event)
            self.logged.append(event)
            done(event)
            cached(store, lambda: reading.keep_dues(store, "stamp", {BOXES[self.n % 4]: [_DUE]}))
            store.checkpoint()


def held(store: Store) -> tuple[list[str], str]:
    """Return the ids in a log, in the order they were written, and the digest of all that follows from them."""
    return [row[0] for row in store.rows("SELECT id FROM event ORDER BY row")], state_digest(store)
