"""Random histories of several phones: clocks apart, corrections of each other's entries, some exchanged already."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import hypothesis.strategies as st

from boxside.core.archive import misfit
from boxside.core.values.event import Event
from boxside.core.values.ids import uuid7
from boxside.store import Store, open_store, saving
from boxside.store.merging import United, merge, proved
from tests.store.test_history_laws import BOXES, VOCABULARY, drafts

START_MS = 1_700_000_000_000
DAY_MS = 86_400_000
SKEWS_MS = (0, -3_600_000, 400 * DAY_MS)


@dataclass(frozen=True, slots=True)
class Phones:
    """What some phones hold, each a part of one set of events, in the order in which it came to them."""

    logs: tuple[tuple[Event, ...], ...]

    @property
    def all(self) -> dict[str, Event]:
        """All events of all phones by id."""
        return {event.id: event for log in self.logs for event in log}


@st.composite
def histories(draw: st.DrawFn, n_phones: int, max_events: int = 14) -> Phones:
    """Draw what `n_phones` phones hold."""
    events: list[Event] = []
    holders: list[set[int]] = []
    for nth in range(draw(st.integers(2, max_events))):
        phone = draw(st.integers(0, n_phones - 1))
        events.append(draw(_event(nth, phone, events)))
        holders.append({phone} | draw(st.sets(st.integers(0, n_phones - 1), max_size=1)))
    logs = []
    for phone in range(n_phones):
        held = [event for event, held_by in zip(events, holders, strict=True) if phone in held_by]
        logs.append(tuple(draw(st.permutations(held))))
    return Phones(tuple(logs))


@st.composite
def _event(draw: st.DrawFn, nth: int, phone: int, before: list[Event]) -> Event:
    kind, subject, fields, minute = draw(drafts())
    at_ms = START_MS + minute * 60_000 + SKEWS_MS[phone]
    what = draw(st.sampled_from(("plain", "plain", "void", "replace", "unknown", "dangling")))
    links: dict[str, str] = {}
    name, said = kind.name, {key: value for key, value in fields.items() if value is not None}
    if what == "unknown":
        name, said = "from_a_newer_app", {"odd": [1, {"x": None}]}
    elif what in ("void", "dangling") or (what == "replace" and before):
        target = draw(st.sampled_from(before)).id if before and what != "dangling" else uuid7(7, 7, nth)
        links = {"replaces": target} if what == "replace" else {"voids": target}
        if what != "replace":
            name, subject, said = "void", ("box", BOXES[0]), {}
    event = Event(
        id=uuid7(START_MS + nth // 2, phone, nth), kind=name, subject_type=subject[0], subject_id=subject[1],
        visit=uuid7(at_ms - at_ms % 600_000, 0, nth % 3), at_ms=at_ms, offset_min=60, tz="Europe/Berlin",
        logged_ms=START_MS + nth // 3 + SKEWS_MS[phone], device=f"phone {phone}", seq=nth, fields=said, **links,
    )  # fmt: skip
    fitting = {key: value for key, value in said.items() if not misfit(replace(event, fields={key: value}), VOCABULARY)}
    return replace(event, fields=fitting)


def opened(folder: Path, log: tuple[Event, ...]) -> Store:
    """Return a phone's log, written event by event."""
    store = open_store(folder, VOCABULARY)
    with saving(store) as saves:
        for event in log:
            saves.append(event)
    return store


def events_in(store: Store) -> list[Event]:
    """Return what a log holds, as an archive of it would."""
    return list(proved(store))


def take_in(store: Store, events: list[Event]) -> United:
    """Merge events into a log, in a transaction."""
    with saving(store):
        return merge(store, events)


def twisted(event: Event) -> Event:
    """Return another event with the same id."""
    return replace(event, note=f"{event.note or ''} and something else")
