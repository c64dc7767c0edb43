"""From what a keeper means to log to the event that is kept: id, visit, times, device and number."""

from __future__ import annotations

from boxside.actions.context import setting, zone_of
from boxside.actions.services import Services
from boxside.core.values.event import Draft, Event
from boxside.core.values.ids import uuid7
from boxside.core.values.moments import offset_min_of
from boxside.store import Saving, reading

_NEAR_MS = 60_000


def new_id(services: Services, ms: int) -> str:
    """Return a fresh id that carries the given moment."""
    chance = services.device.chance
    return uuid7(ms, chance.bits(12), chance.bits(62))


def device_id(services: Services, saving: Saving) -> str:
    """Return this device's own id, made at its first save."""
    kept = saving.store.meta("device")
    if not kept:
        kept = new_id(services, services.clock.now_ms())
        saving.store.set_meta("device", kept)
    return kept


def stamped(services: Services, saving: Saving, draft: Draft) -> Event:
    """Return the event of a draft, numbered in the open transaction."""
    device = device_id(services, saving)
    now_ms = _moment(services, saving, device)
    at_ms = now_ms if draft.at_ms is None else draft.at_ms
    zone = zone_of(services)
    return Event(
        id=new_id(services, now_ms),
        kind=draft.kind,
        subject_type=draft.subject_type,
        subject_id=draft.subject_id,
        visit=draft.visit or new_id(services, at_ms),
        at_ms=at_ms,
        offset_min=offset_min_of(at_ms, zone),
        tz=zone.key,
        logged_ms=now_ms,
        device=device,
        seq=saving.next_seq(device),
        fields={key: value for key, value in draft.fields.items() if value is not None},
        by=draft.by or setting(services, "logged_by") or None,
        note=draft.note,
        voids=draft.voids,
        replaces=draft.replaces,
    )


def _moment(services: Services, saving: Saving, device: str) -> int:
    """Return now, moved past this device's last entry where the two lie within a minute.

    What is logged later stands later, also where two acts share a millisecond, where the clock was set back
    a little, or where `--on` lets every run begin at the same moment of a day.
    """
    now_ms = services.clock.now_ms()
    last = reading.last_logged(saving.store, device)
    return last.logged_ms + 1 if last and 0 <= last.logged_ms - now_ms < _NEAR_MS else now_ms
