"""From `--FIELD VALUE` and `--at TIME` to what an event holds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time

from boxside.actions.context import today, zone_of
from boxside.actions.entry import box_named, named_entity
from boxside.actions.services import Services
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Json
from boxside.core.values.moments import to_ms
from boxside.core.values.vocabulary import Field, FieldType, Kind

_YES, _NO = ("yes", "true", "1"), ("no", "false", "0")


def fields_of(services: Services, kind: Kind, words: Sequence[str]) -> dict[str, Json]:
    """Return the fields that options name.

    Raises
    ------
    EntryError : for an option that the kind does not have, without a value, given twice, or of a wrong type
    """
    fields: dict[str, Json] = {}
    pairs = _pairs(words)
    for name, text in pairs:
        field = kind.field(name.replace("-", "_"))
        if field is None:
            known = ", ".join(f"--{f.name.replace('_', '-')}" for f in kind.fields) or "none"
            raise EntryError(f"{kind.name} has no field --{name} (known: {known}). Nothing was saved.")
        if field.name in fields:
            raise EntryError(f"--{name} is given twice. Nothing was saved.")
        fields[field.name] = _value(services, field, text)
    return fields


def _pairs(words: Sequence[str]) -> list[tuple[str, str]]:
    pairs: list[tuple[str, str]] = []
    waiting = list(words)
    while waiting:
        word = waiting.pop(0)
        name, has_value, text = word.removeprefix("--").partition("=")
        if not word.startswith("--") or not name or (not has_value and not waiting):
            raise EntryError(f"{word!r} is not understood: give fields as --FIELD VALUE. Nothing was saved.")
        pairs.append((name, text if has_value else waiting.pop(0)))
    return pairs


def _value(services: Services, field: Field, text: str) -> Json:
    if field.type in (FieldType.INTEGER, FieldType.NUMBER):
        return _number(field, text)
    if field.type is FieldType.BOOLEAN:
        if text.lower() not in (*_YES, *_NO):
            raise EntryError(f"--{field.name}: say yes or no, not {text!r}. Nothing was saved.")
        return text.lower() in _YES
    if field.type is FieldType.BOX:
        return box_named(services, text).id
    if field.type in (FieldType.COHORT, FieldType.AREA):
        return named_entity(services, str(field.type), text)
    return text


def _number(field: Field, text: str) -> Json:
    try:
        return int(text) if field.type is FieldType.INTEGER else float(text)
    except ValueError as error:
        whole = "whole " if field.type is FieldType.INTEGER else ""
        raise EntryError(f"--{field.name}: {text!r} is not a {whole}number. Nothing was saved.") from error


def moment_of(services: Services, text: str | None) -> int | None:
    """Return the instant that a text names in the keeper's zone; None for now.

    Raises
    ------
    EntryError : if it is neither a time of day nor a date with a time
    """
    if text is None:
        return None
    zone = zone_of(services)
    try:
        if len(text) <= 5:
            return to_ms(datetime.combine(today(services), time.fromisoformat(text), zone))
        if len(text) == 10:
            return _on_day(services, date.fromisoformat(text))
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise EntryError(f"--at: {text!r} is not a time like 18:30 or 2026-05-03T18:30. Nothing was saved.") from error
    return to_ms(moment if moment.tzinfo else moment.replace(tzinfo=zone))


def _on_day(services: Services, day: date) -> int:
    """Return noon of a day; today before noon, now."""
    noon = to_ms(datetime.combine(day, time(12), zone_of(services)))
    return min(noon, services.clock.now_ms()) if day == today(services) else noon
