"""Settings, and the keeper's own numbers in the species profile."""

from __future__ import annotations

import zoneinfo

from boxside.actions.context import declared_numbers, overrides, profile, setting, zone_of
from boxside.actions.log_event import log_all
from boxside.actions.services import Services
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.profile import Editable, editable, with_overrides
from boxside.core.values.setting import Setting
from boxside.core.values.views import SettingRow, SettingsView

_PROFILE = "profile:"
COLONY = "colony"


def settings_view(services: Services) -> SettingsView:
    """Return all settings, the profile's intervals, the cautions and today's nudge."""
    from boxside.actions.post_nudge import nudge_view, why_refused

    own = profile(services)
    rows = [_row(services, declared) for declared in services.catalog.settings.values()]
    rows += [_profile_row(row) for row in editable(own) if _is_shown(row)]
    nudge = nudge_view(services)
    return SettingsView(
        rows=tuple(rows),
        cautions=tuple((caution.text, caution.source) for caution in own.cautions),
        nudge=tuple(text for text in (why_refused(services), nudge.title, *nudge.lines) if text),
        about=(
            ("Log", str(services.store.path)),
            ("Species", own.scientific_name),
            ("Numbers", "Intervals are starting values; each names its source. Change them to fit your animals."),
        ),
    )


def change_setting(services: Services, key: str, value: Json) -> SettingsView:
    """Change one setting, or one number of the profile; None goes back to what is declared.

    Raises
    ------
    EntryError : for an unknown setting or a value that it cannot take; nothing was changed
    """
    if key.startswith(_PROFILE):
        _change_profile(services, key.removeprefix(_PROFILE), value)
    else:
        text = f"{value:g}" if isinstance(value, (int, float)) else None if value is None else str(value)
        _check(services, key, text)
        # The declared value is written out: a later entry without a value leaves the earlier one standing.
        text = services.catalog.settings[key].default if text is None else text
        log_all(services, [Draft("setting_changed", "colony", COLONY, {"key": key, "value": text})])
    return settings_view(services)


def _change_profile(services: Services, key: str, value: Json) -> None:
    """Keep the keeper's own number for the usual species; the profile itself says whether it can be."""
    species = profile(services).species
    declared = services.catalog.profiles[species]
    if value is None:
        value = declared_numbers(declared).get(key)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise EntryError(f"{value!r} is not a number that {key!r} can take. Nothing was changed.")
    number = float(value)
    with_overrides(declared, {**overrides(services, species), key: number})
    fields: dict[str, Json] = {"species": species, "key": f"{species}:{key}", "value": number}
    log_all(services, [Draft("profile_edited", "colony", COLONY, fields)])


def _check(services: Services, key: str, text: str | None) -> None:
    declared = services.catalog.settings.get(key)
    if declared is None:
        known = ", ".join(services.catalog.settings)
        raise EntryError(f"There is no setting {key!r} (known: {known}). Nothing was changed.")
    if text is None:
        return
    if declared.how == "zone":
        _check_zone(text)
    elif declared.how in ("number", "minute"):
        _check_number(declared, text)
    elif declared.how == "degrees":
        _check_degrees(declared, text)
    elif declared.how == "text":
        _check_text(declared, text)
    elif text not in [choice for choice, _ in _choices(services, declared)]:
        raise EntryError(f"{declared.label}: {text!r} is none of the choices. Nothing was changed.")


def _check_zone(text: str) -> None:
    if text and text not in zoneinfo.available_timezones():
        raise EntryError(f"{text!r} is not a time zone like Europe/Berlin. Nothing was changed.")


def _check_number(declared: Setting, text: str) -> None:
    low, high = declared.minimum or 0, declared.maximum or 0
    whole = float(declared.step).is_integer()
    is_number = text.isdigit() if whole else text.replace(".", "", 1).isdecimal()
    if not is_number or not low <= float(text) <= high:
        raise EntryError(f"{declared.label}: {text!r} is not between {low:g} and {high:g}. Nothing was changed.")


def _check_text(declared: Setting, text: str) -> None:
    most = int(declared.maximum or 0)
    if text != text.strip() or len(text) > most or not text.isprintable():
        raise EntryError(f"{declared.label}: a name of at most {most} signs is needed. Nothing was changed.")


def _check_degrees(declared: Setting, text: str) -> None:
    low, high = declared.minimum or 0, declared.maximum or 0
    try:
        is_fine = low <= float(text) <= high
    except ValueError:
        is_fine = False
    if text and not is_fine:
        raise EntryError(f"{declared.label}: {text!r} is not between {low:g} and {high:g}. Nothing was changed.")


def _choices(services: Services, declared: Setting) -> tuple[tuple[str, str], ...]:
    if declared.how == "species":
        return tuple((name, own.name) for name, own in services.catalog.profiles.items())
    if declared.how == "zone":
        zones = [zone for zone in sorted(zoneinfo.available_timezones()) if "/" in zone and not zone.startswith("Etc")]
        return (("", "The device's"), *((zone, zone) for zone in zones))
    return declared.choices


def _row(services: Services, declared: Setting) -> SettingRow:
    value = setting(services, declared.key)
    choices = _choices(services, declared)
    shown = dict(choices).get(value, value)
    if declared.how == "minute":
        shown = f"{int(value) // 60:02d}:{int(value) % 60:02d}"
    if declared.how == "zone":
        shown = zone_of(services).key
    is_number = declared.how in ("number", "minute")
    is_degrees, is_text = declared.how == "degrees", declared.how == "text"
    return SettingRow(
        key=declared.key,
        group=declared.group,
        label=declared.label,
        value=_number(declared, value) if is_number else float(value) if is_degrees and value else value,
        shown=f"{shown} {declared.unit}".strip() if shown or not (is_degrees or is_text) else "not set",
        how="number" if is_degrees else declared.how if is_number or is_text else "choice",
        choices=choices,
        minimum=declared.minimum,
        maximum=declared.maximum,
        step=declared.step,
        unit=declared.unit,
        hint=declared.hint,
    )


def _number(declared: Setting, value: str) -> int | float:
    return int(value) if float(declared.step).is_integer() else float(value)


def _is_shown(row: Editable) -> bool:
    """Show the due day of each window: its earliest and latest days move along with it."""
    return row.key.endswith(".on")


def _profile_row(row: Editable) -> SettingRow:
    return SettingRow(
        key=_PROFILE + row.key,
        group="Intervals",
        label=row.label,
        value=row.value,
        shown=f"{row.value:g} {row.unit}",
        how="number",
        minimum=row.minimum,
        maximum=row.maximum,
        unit=row.unit,
        hint="your own" if row.changed else row.source,
    )
