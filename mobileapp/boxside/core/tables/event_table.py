"""The exported table of events read back: every cell is checked, nothing is believed.

The columns that follow from others (code, day, standing) are not read, but the day must be that of the moment.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NoReturn

from boxside.core.tables.csv_text import original_text
from boxside.core.tables.spreadsheet import BOM, SEPARATORS, machine_cell
from boxside.core.values.moments import iso_text, to_ms

EVENT_COLUMNS = (
    "event", "kind", "subject_type", "subject", "at", "zone", "visit", "logged_at", "device", "seq", "by", "note",
    "voids", "replaces", "fields",
)  # fmt: skip
_MUST = ("event", "kind", "subject_type", "subject", "zone", "visit", "device")
_LONGEST_CELL = 4_000_000


@dataclass(frozen=True, slots=True)
class EventCells:
    """What a record says of an event: its values by name, and the fields as they are written.

    They are of the right types, but not checked any further: `core.archive.event_of_values` is the door to a log.
    """

    values: dict[str, Any]
    fields_text: str


@dataclass(frozen=True, slots=True)
class Form:
    """How a table is written: its separator, and the decimal sign where it is for a spreadsheet, else empty."""

    separator: str
    decimal: str


def form_of(first_line: str) -> Form | None:
    """Return how a table of events is written, from its first line with any byte order mark; None where it is none.

    A byte order mark is what tells tables for a spreadsheet from those for analysis.
    """
    header = first_line.removeprefix(BOM)
    for decimal, separator in SEPARATORS.items():
        columns = next(csv.reader([header], delimiter=separator), [])
        if set(EVENT_COLUMNS) <= set(columns):
            return Form(separator, decimal if first_line.startswith(BOM) or separator != "," else "")
    return None


def numbered_events(lines: Iterable[str], form: Form) -> Iterator[tuple[int, EventCells | str]]:
    """Yield each record of a table of events as (line it begins on, from 1; what it says, or why it is none).

    Parameters
    ----------
    lines : the file's lines with their line ends, as from a file opened with newline=""

    Notes
    -----
    A text that is no CSV from some line on ends there, with that as its reason.
    """
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        yield from _records(csv.reader(lines, delimiter=form.separator, strict=True), form)
    finally:
        csv.field_size_limit(before)


def _records(reader: Any, form: Form) -> Iterator[tuple[int, EventCells | str]]:
    columns = [column.removeprefix(BOM) for column in next(reader)]
    began = reader.line_num + 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield began, f"It is no CSV from here on ({error})."
            return
        if cells:
            yield began, _said_or_reason(columns, cells, form)
        began = reader.line_num + 1


def _said_or_reason(columns: Sequence[str], cells: Sequence[str], form: Form) -> EventCells | str:
    if len(cells) != len(columns):
        return f"It has {len(cells)} cells instead of {len(columns)}."
    texts = [machine_cell(cell, form.decimal) for cell in cells] if form.decimal else cells
    if not (whole := "".join(texts)).isascii():
        texts = [original_text(text) for text in texts]
        try:
            whole.encode("utf-8")
            "".join(texts).encode("utf-8")
        except UnicodeEncodeError:
            return "It holds half of a character pair, or bytes that are no UTF-8."
    try:
        return event_cells(dict(zip(columns, texts, strict=True)))
    except (ValueError, OverflowError) as error:
        return f"{error}."


def event_cells(cells: Mapping[str, str]) -> EventCells:
    """Return what one record says of an event.

    Raises
    ------
    ValueError : naming the column and what is wrong with it
    """
    for column in _MUST:
        if not cells[column]:
            raise ValueError(f"{column} is empty")
    at_ms, offset_min = _read(cells, "at", _moment)
    if "day" in cells and cells["day"] != _day(at_ms, offset_min):
        raise ValueError(f"day is {cells['day'][:40]!r}, and at says {_day(at_ms, offset_min)}")
    said: dict[str, Any] = {
        "id": cells["event"], "kind": cells["kind"], "subject_type": cells["subject_type"],
        "subject_id": cells["subject"], "visit": cells["visit"], "at_ms": at_ms, "offset_min": offset_min,
        "tz": cells["zone"], "logged_ms": _read(cells, "logged_at", _moment)[0], "device": cells["device"],
        "seq": _read(cells, "seq", _whole), "fields": _read(cells, "fields", _fields),
        **{name: cells[name] for name in ("by", "note", "voids", "replaces") if cells[name]},
    }  # fmt: skip
    return EventCells(said, cells["fields"])


def _read(cells: Mapping[str, str], column: str, reading: Callable[[str], Any]) -> Any:
    try:
        return reading(cells[column])
    except (ValueError, OverflowError, RecursionError) as error:
        raise ValueError(f"{column}: {error}") from error


def _moment(text: str) -> tuple[int, int]:
    """Return milliseconds UTC and the offset in minutes."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise ValueError(f"{text[:40]!r} is no moment like 2026-05-03T18:30:00.000+02:00") from error
    offset = moment.utcoffset()
    if offset is None or offset.seconds % 60 or offset.microseconds:
        raise ValueError(f"{text[:40]!r} has no offset in whole minutes")
    return to_ms(moment), offset.days * 1440 + offset.seconds // 60


def _day(at_ms: int, offset_min: int) -> str:
    return iso_text(at_ms, offset_min)[:10]


def _whole(text: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 18:
        raise ValueError(f"{text[:40]!r} is no whole number")
    return int(text)


def _fields(text: str) -> dict[str, Any]:
    try:
        said = json.loads(text or "{}", parse_constant=_no_number, parse_float=_finite)
    except ValueError as error:
        raise ValueError(f"is no JSON ({error})") from error
    if not isinstance(said, dict):
        raise ValueError("is no JSON object")  # noqa: TRY004 (a cell is wrong, not a type)
    return said


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError("a number is too large")
    return number


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")
