"""From what a keeper means to log to the event that is kept: id, visit, times, device and number."""

from __future__ import annotations

from boxside.actions.context import setting, zone_of
from boxside.actions.services import Services
from boxside.core.values.event import Draft, Event, Json
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
        fields={key: _kept(value) for key, value in draft.fields.items() if value is not None},
        by=_kept_text(draft.by or setting(services, "logged_by")),
        note=_kept_text(draft.note),
        voids=draft.voids,
        replaces=draft.replaces,
    )


def _kept(value: Json) -> Json:
    """Return a field's value as it can be kept: half of a character pair, which no file holds, becomes U+FFFD."""
    if isinstance(value, str):
        return _whole_text(value)
    if isinstance(value, list):
        return [_kept(part) for part in value]
    if isinstance(value, dict):
        return {_whole_text(key): _kept(part) for key, part in value.items()}
    return value


def _kept_text(text: str | None) -> str | None:
    """Return a text as it can be kept; an empty one says nothing."""
    return _whole_text(text) if text else None


def _whole_text(text: str) -> str:
    return text if text.isascii() else text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _moment(services: Services, saving: Saving, device: str) -> int:
    """Return now, moved past this device's last entry where the two lie within a minute.

    What is logged later stands later, also where two acts share a millisecond, where the clock was set back
    a little, or where `--on` lets every run begin at the same moment of a day.
    """
    now_ms = services.clock.now_ms()
    last = reading.last_logged(saving.store, device)
    return last.logged_ms + 1 if last and 0 <= last.logged_ms - now_ms < _NEAR_MS else now_ms
