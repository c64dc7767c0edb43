"""The keeper's zone, day and settings, and the profile of a cohort."""

from __future__ import annotations

import hashlib
import json
import zoneinfo
from datetime import date
from zoneinfo import ZoneInfo

from boxside.actions.services import Services
from boxside.core.values.moments import day_of
from boxside.core.values.profile import Profile, editable, with_sound_overrides
from boxside.core.values.setting import Setting
from boxside.store import reading


def setting(services: Services, key: str) -> str:
    """Return what a setting is now: the keeper's value, else the default.

    A value that the setting cannot take, as a merge with a newer app's log can bring, counts as none.
    """
    kept = reading.entity(services.store, "setting", key)
    value = kept.data.get("value") if kept else None
    declared = services.catalog.settings[key]
    return value if isinstance(value, str) and _can_be(declared, value) else declared.default


def _can_be(declared: Setting, value: str) -> bool:
    """Return whether a setting can take a value; of zones and species their own readers judge."""
    if declared.how == "choice":
        return any(value == choice for choice, _ in declared.choices)
    if declared.how in ("number", "minute", "degrees") and value:
        low, high = declared.minimum, declared.maximum
        try:
            number = float(value) if declared.how != "minute" else int(value)
        except ValueError:
            return False
        return (low is None or number >= low) and (high is None or number <= high)
    return bool(value) or declared.how not in ("number", "minute")


def zone_of(services: Services) -> ZoneInfo:
    """Return the keeper's zone: the one they set, else the device's."""
    name = setting(services, "zone") or services.clock.zone_name()
    try:
        return ZoneInfo(name)
    except (ValueError, zoneinfo.ZoneInfoNotFoundError):
        return ZoneInfo("UTC")


def today(services: Services) -> date:
    """Return the keeper's calendar day now."""
    return day_of(services.clock.now_ms(), zone_of(services))


def overrides(services: Services, species: str) -> dict[str, float]:
    """Return the keeper's own numbers for a species; one that is the profile's own again is none of theirs."""
    own: dict[str, float] = {}
    edited = reading.entities(services.store, "profile")
    known = services.catalog.profiles.get(species)
    declared = declared_numbers(known) if edited and known else {}
    for entity in edited:
        key, value = entity.data.get("key"), entity.data.get("value")
        if entity.data.get("species") == species and isinstance(key, str) and isinstance(value, (int, float)):
            name = key.partition(":")[2]
            if value != declared.get(name):
                own[name] = value
    return own


def declared_numbers(known: Profile) -> dict[str, float]:
    """Return all numbers of a profile by key."""
    return {row.key: row.value for row in editable(known)}


def profile(services: Services, species: str = "") -> Profile:
    """Return a species' profile with the keeper's own numbers; the usual species where none is named.

    Numbers that contradict each other, as a merge of two keepers' logs can bring, are left out.
    """
    name = species or setting(services, "species")
    known = services.catalog.profiles
    chosen = known.get(name) or known[services.catalog.settings["species"].default]
    return with_sound_overrides(chosen, overrides(services, chosen.species))[0]


def stamp(services: Services) -> str:
    """Return a digest of all that due days follow from beside the log of a box itself."""
    own = [[e.id, dict(e.data)] for e in reading.entities(services.store, "profile")]
    parts = [zone_of(services).key, setting(services, "species"), own, RULES_REVISION]
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()[:16]


# Raise it with every change of a care rule or profile, so that kept due days are worked out again.
RULES_REVISION = 3
