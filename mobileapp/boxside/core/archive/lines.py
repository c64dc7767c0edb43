"""An event as one line of strict JSON, and back; what comes back is fit to be kept in a log.

References
----------
Bray T. 2017, RFC 8259: The JavaScript Object Notation (JSON) Data Interchange Format.
"""

from __future__ import annotations

import json
from typing import Any, NoReturn

from boxside.core.values.event import Event, fields_text
from boxside.core.values.ids import uuid7_ms

LINE_BYTES = 4_000_000
_TEXTS = ("id", "kind", "subject_type", "subject_id", "visit", "tz", "device")
_MAYBE = ("by", "note", "voids", "replaces")
# The last day of year 9998: any zone's clock can show it.
_LAST_MS = 253_370_764_800_000
_RANGES = {"at_ms": (0, _LAST_MS), "offset_min": (-1439, 1439), "logged_ms": (0, _LAST_MS), "seq": (0, 1 << 53)}
_NAMES = frozenset((*_TEXTS, *_RANGES, *_MAYBE, "fields"))
_MUST = frozenset((*_TEXTS, *_RANGES, "fields"))
_SHORT, _LONG = 200, 200_000
# SQLite reads JSON a thousand deep, a phone's stack perhaps less; nothing of ours stands deeper than six.
_DEPTH = 60


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
        said = _decode(line.decode("utf-8"))
    except RecursionError as error:
        raise ValueError("is nested too deeply") from error
    except ValueError as error:
        raise ValueError(f"is not strict JSON in UTF-8 ({error})") from error
    if type(said) is not dict:
        raise ValueError("is no JSON object")
    return event_of_values(said, line)


def event_of_values(said: dict[str, Any], source: bytes) -> Event:
    """Return the event of its values by name, whatever they were read from.

    Parameters
    ----------
    source : the text that they, or at least the fields, were read from

    Raises
    ------
    ValueError : saying why it is no event that a log can keep
    """
    _check_names(said)
    _check_values(said)
    said["fields"] = {name: value for name, value in said["fields"].items() if value is not None}
    _check_text(said, source)
    return Event(**said)


_text = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _finite(text: str) -> float:
    number = float(text)
    if number - number != 0:
        raise ValueError("a number is too large")
    return number


# One decoder for all lines: making it costs as much as a line.
_decode = json.JSONDecoder(parse_constant=_no_number, parse_float=_finite).decode


def _check_names(said: dict[str, Any]) -> None:
    """Refuse what is missing or unknown."""
    names = said.keys()
    if not names <= _NAMES:
        raise ValueError(f"has an unknown entry {min(names - _NAMES)[:40]!r}")
    if not names >= _MUST:
        raise ValueError(f"has no {min(_MUST - names)!r}")
    if type(said["fields"]) is not dict:
        raise ValueError("'fields' is no JSON object")


def _check_values(said: dict[str, Any]) -> None:
    """Refuse what is of the wrong type or range."""
    for name in _TEXTS:
        if type(said[name]) is not str or not 0 < len(said[name]) <= _SHORT:
            raise ValueError(f"{name!r} is no text of 1 to {_SHORT} signs")
    for name, (low, high) in _RANGES.items():
        if type(said[name]) is not int or not low <= said[name] <= high:
            raise ValueError(f"{name!r} is no whole number from {low} to {high}")
    for name in _MAYBE:
        value = said.get(name)
        if value is not None and (type(value) is not str or len(value) > _LONG):
            raise ValueError(f"{name!r} is no text")
    if (uuid7_ms(said["visit"]) or 0) > _LAST_MS:
        raise ValueError("'visit' lies beyond the year 9998")


def _check_text(said: dict[str, Any], line: bytes) -> None:
    """Refuse what a log cannot keep: half of a character pair, which only an escape can bring in, or deep nesting."""
    if b"\\u" in line:
        try:
            json.dumps(said, ensure_ascii=False).encode("utf-8")
        except UnicodeEncodeError as error:
            raise ValueError("holds half of a character pair") from error
    if line.count(b"[") + line.count(b"{") > _DEPTH and _depth(said) > _DEPTH:
        raise ValueError("is nested too deeply")


def _depth(value: object) -> int:
    """Return how deep lists and objects stand in each other; stops where that is more than enough."""
    depth, layer = 0, [value]
    while layer and depth <= _DEPTH:
        depth += 1
        inner: list[object] = []
        for one in layer:
            inner += one.values() if isinstance(one, dict) else one if isinstance(one, list) else ()
        layer = inner
    return depth
