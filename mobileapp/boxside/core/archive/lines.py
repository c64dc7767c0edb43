"""An event as one line of strict JSON, and back; what comes back is fit to be kept in a log.

References
----------
Bray T. 2017, RFC 8259: The JavaScript Object Notation (JSON) Data Interchange Format.
"""

from __future__ import annotations

import json
from typing import Any, NoReturn

from boxside.core.values.event import Event, Json, fields_text
from boxside.core.values.ids import uuid7_ms

LINE_BYTES = 4_000_000
_TEXTS = ("id", "kind", "subject_type", "subject_id", "visit", "tz", "device")
_NUMBERS = ("at_ms", "offset_min", "logged_ms", "seq")
_MAYBE = ("by", "note", "voids", "replaces")
_NAMES = frozenset((*_TEXTS, *_NUMBERS, *_MAYBE, "fields"))
_MUST = frozenset((*_TEXTS, *_NUMBERS, "fields"))
# The last day of year 9998: any zone's clock can show it.
_LAST_MS = 253_370_764_800_000
_RANGES = {"at_ms": (0, _LAST_MS), "offset_min": (-1439, 1439), "logged_ms": (0, _LAST_MS), "seq": (0, 1 << 53)}
_SHORT, _LONG = 200, 200_000


def event_line(event: Event) -> str:
    """Return an event as a line of JSON without its line end; what was not said is left out.

    The same event gives the same line: names in a fixed order, the kind's own fields sorted.
    """
    parts = [
        f'"{name}":{_text(getattr(event, name))}'
        for name in ("id", "kind", "subject_type", "subject_id", "visit", "at_ms", "offset_min", "tz", "logged_ms",
                     "device", "seq")
    ]  # fmt: skip
    parts.append(f'"fields":{fields_text(event.fields)}')
    parts += [f'"{name}":{_text(value)}' for name in _MAYBE if (value := getattr(event, name)) is not None]
    return "{" + ",".join(parts) + "}"


def event_of_line(line: bytes) -> Event:
    """Return the event that a line holds.

    Raises
    ------
    ValueError : saying why the line is no event that a log can keep
    """
    if len(line) > LINE_BYTES:
        raise ValueError(f"is longer than {LINE_BYTES // 1_000_000} MB")
    try:
        said = json.loads(line.decode("utf-8"), parse_constant=_no_number)
    except RecursionError as error:
        raise ValueError("is nested too deeply") from error
    except ValueError as error:
        raise ValueError(f"is not strict JSON in UTF-8 ({error})") from error
    if not isinstance(said, dict):
        raise ValueError("is no JSON object")
    _check(said)
    said["fields"] = {name: value for name, value in said["fields"].items() if value is not None}
    _check_kept(said, line)
    return Event(**said)


_text = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _check(said: dict[str, Any]) -> None:
    """Refuse what is missing, unknown, or of the wrong type or range."""
    names = said.keys()
    if not names <= _NAMES:
        raise ValueError(f"has an unknown entry {min(names - _NAMES)[:40]!r}")
    if not names >= _MUST:
        raise ValueError(f"has no {min(_MUST - names)!r}")
    for name in _TEXTS:
        if not isinstance(said[name], str) or len(said[name]) > _SHORT:
            raise ValueError(f"{name!r} is no text of at most {_SHORT} signs")
    if not said["id"] or not said["kind"]:
        raise ValueError("has an empty id or kind")
    for name in _NUMBERS:
        low, high = _RANGES[name]
        if type(said[name]) is not int or not low <= said[name] <= high:
            raise ValueError(f"{name!r} is no whole number from {low} to {high}")
    for name in _MAYBE:
        value = said.get(name)
        if value is not None and (not isinstance(value, str) or len(value) > _LONG):
            raise ValueError(f"{name!r} is no text")
    if not isinstance(said["fields"], dict):
        raise ValueError("'fields' is no JSON object")
    if (uuid7_ms(said["visit"]) or 0) > _LAST_MS:
        raise ValueError("'visit' lies beyond the year 9998")


def _check_kept(said: dict[str, Any], line: bytes) -> None:
    """Refuse texts and numbers that neither a log nor JSON can keep; plain lines are not looked through."""
    # Only an escape can bring in half a character, since the line itself is UTF-8.
    if b"\\u" in line:
        try:
            json.dumps(said, ensure_ascii=False).encode("utf-8")
        except UnicodeEncodeError as error:
            raise ValueError("holds half of a character pair") from error
    if any(mark in line for mark in (b"E", b"e+", b"e3", b"000000000000000000")) or len(line) > 2000:
        _check_numbers(said["fields"])


def _check_numbers(value: Json) -> None:
    """Refuse numbers too large to be written again."""
    waiting: list[Json] = [value]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            waiting.extend(one.values())
        elif isinstance(one, list):
            waiting.extend(one)
        elif isinstance(one, float) and one - one != 0:
            raise ValueError("holds a number that is too large")
