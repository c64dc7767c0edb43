"""Whether the fields of an event fit what its kind declares; what a newer app has added is let be."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from boxside.core.values.event import Event, Json
from boxside.core.values.vocabulary import Field, FieldType, Vocabulary

# Beyond it a headcount is no headcount, and sums over a million events would leave 64 bits.
_MOST = 1_000_000_000_000
_TEXT_LENGTH = 20_000


def misfit(event: Event, vocabulary: Vocabulary) -> str:
    """Return what of an event does not fit the declaration of its kind; empty where all fits.

    An unknown kind, and fields that the kind does not declare, may come from a newer app and fit.
    """
    kind = vocabulary.get(event.kind)
    for field in kind.fields if kind else ():
        value = event.fields.get(field.name)
        if value is not None and (reason := _CHECKS[field.type](field, value)):
            return f"{field.name} of {event.kind}: {reason}"
    if kind is not None and event.subject_type not in kind.subjects and kind.name != "void":
        return f"{event.kind} is not logged at a {event.subject_type[:40]}"
    return ""


def _number(field: Field, value: Json) -> str:
    whole = field.type is FieldType.INTEGER
    if isinstance(value, bool) or not isinstance(value, int if whole else (int, float)):
        return "is not a whole number" if whole else "is not a number"
    low, high = field.minimum, field.maximum
    fits = abs(value) <= _MOST and (low is None or value >= low) and (high is None or value <= high)
    return "" if fits else f"is not between {low} and {high}"


def _text(field: Field, value: Json) -> str:
    return "" if isinstance(value, str) and len(value) <= _TEXT_LENGTH else "is no text"


def _choice(field: Field, value: Json) -> str:
    return "" if value in field.choices else "is none of its choices"


def _boolean(field: Field, value: Json) -> str:
    return "" if isinstance(value, bool) else "is neither true nor false"


def _date(field: Field, value: Json) -> str:
    try:
        date.fromisoformat(str(value))
    except ValueError:
        return "is no date"
    return "" if isinstance(value, str) else "is no date"


def _list(field: Field, value: Json) -> str:
    if not isinstance(value, list) or not all(isinstance(part, dict) for part in value):
        return "is no list of parts"
    return next((said for part in value for said in _part_faults(part)), "")


def _part_faults(part: Json) -> list[str]:
    """Return what is wrong with one part: its measures are numbers, and nothing in it is a list."""
    found: list[str] = []
    for name, value in part.items() if isinstance(part, dict) else ():
        is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if isinstance(value, (list, dict)):
            found.append(f"{name[:40]} is a list")
        elif value is not None and not is_number and (name.endswith(("_mm", "_px")) or name == "n"):
            found.append(f"{name[:40]} is not a number")
        elif is_number and isinstance(value, (int, float)) and abs(value) > _MOST:
            found.append(f"{name[:40]} is too large")
    return found


_CHECKS: dict[FieldType, Callable[[Field, Json], str]] = {
    FieldType.INTEGER: _number, FieldType.NUMBER: _number, FieldType.TEXT: _text, FieldType.CHOICE: _choice,
    FieldType.BOOLEAN: _boolean, FieldType.DATE: _date, FieldType.BOX: _text, FieldType.COHORT: _text,
    FieldType.AREA: _text, FieldType.EVENT: _text, FieldType.PARTS: _list, FieldType.ROWS: _list,
}  # fmt: skip
