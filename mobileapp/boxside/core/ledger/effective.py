"""Which events stand: what was taken back or corrected stays in the log but no longer counts.

A void takes back its target and every correction built on it, is final, and may arrive before its
target. Of several corrections of one target the one with the greater (`logged_ms`, `id`) counts; when
it is taken back itself, its target stands again. The answer depends on the set of events alone, not on
the order of arrival and not on any clock.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from boxside.core.values.event import Event


@dataclass(frozen=True, slots=True)
class Standing:
    """Why an event does not count: `why` is voided, replaced or outdone, `by` the event that did it."""

    why: str
    by: str


def standings(events: Iterable[Event]) -> dict[str, Standing]:
    """Return, for every event that does not count, why; voids themselves are never listed."""
    events = list(events)
    voided = _voids(events)
    replacements: dict[str, list[Event]] = defaultdict(list)
    known = {event.id for event in events}
    for event in events:
        if event.replaces and event.kind != "void":
            replacements[event.replaces].append(event)
    struck: dict[str, Standing] = {}
    for event in events:
        is_root = event.kind != "void" and (event.replaces is None or event.replaces not in known)
        if is_root:
            _settle([event], replacements, voided, struck)
    _settle_rings(events, struck)
    return struck


def _voids(events: Iterable[Event]) -> dict[str, str]:
    """Return the void that counts for each target: the first by id, so that the answer is one."""
    voided: dict[str, str] = {}
    for event in sorted((e for e in events if e.kind == "void" and e.voids), key=lambda e: e.id):
        voided.setdefault(str(event.voids), event.id)
    return voided


def _settle(
    roots: list[Event],
    replacements: Mapping[str, list[Event]],
    voided: Mapping[str, str],
    struck: dict[str, Standing],
) -> None:
    """Mark, from each root down, which one of a chain of corrections stands."""
    stack: list[tuple[Event, Standing | None]] = [(root, None) for root in roots]
    while stack:
        event, inherited = stack.pop()
        if event.id in voided:
            inherited = inherited or Standing("voided", voided[event.id])
        children = replacements.get(event.id, [])
        live = [child for child in children if child.id not in voided]
        winner = max(live, key=lambda e: (e.logged_ms, e.id), default=None)
        if inherited:
            struck[event.id] = inherited
        elif winner:
            struck[event.id] = Standing("replaced", winner.id)
        for child in children:
            outdone = Standing("outdone", winner.id) if winner and child is not winner else None
            stack.append((child, inherited or (None if child is winner else outdone)))


def _settle_rings(events: Iterable[Event], struck: dict[str, Standing]) -> None:
    """Strike corrections that name each other in a ring: no such log is ever written here."""
    by_id = {event.id: event for event in events if event.kind != "void"}
    for event in by_id.values():
        seen: set[str] = set()
        node: Event | None = event
        while node is not None and node.id not in seen:
            seen.add(node.id)
            node = by_id.get(node.replaces) if node.replaces else None
        if node is not None and event.id not in struck:
            struck[event.id] = Standing("replaced", node.id)
