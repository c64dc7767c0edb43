"""A temperature logger's file as rows: all of them, or none and every reason why not."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

from boxside.core.planning.logger_dates import DateOrder, Stamp, read_stamp
from boxside.core.values.errors import EntryError

# No room with living larvae is colder or warmer; beyond it the column or the unit is wrong.
COLDEST_C, WARMEST_C = -40.0, 60.0


@dataclass(frozen=True, slots=True)
class LoggerLayout:
    """How a file is to be read: nothing about it is guessed while reading.

    `when` is the column of date and time, or the two columns of date and of time; `value` that of the
    temperature; columns count from 0. `first_line` is the line of the file, from 1, at which the rows begin.
    `missing` are texts that stand for no measurement. `fahrenheit` turns degrees F into C.
    """

    delimiter: str
    decimal: str
    when: tuple[int, ...]
    value: int
    order: DateOrder
    first_line: int = 1
    missing: tuple[str, ...] = ()
    fahrenheit: bool = False


@dataclass(frozen=True, slots=True)
class LoggerRow:
    """One measurement: its line in the file, date and time as written, temperature in degrees C."""

    line: int
    stamp: Stamp
    temperature_c: float


@dataclass(frozen=True, slots=True)
class LineProblem:
    """Why a line cannot be taken: its number in the file from 1, and the reason in a sentence."""

    line: int
    reason: str


@dataclass(frozen=True, slots=True)
class LoggerReading:
    """The rows of a file in its order; none where there is any problem. `n_missing` lines had no value."""

    rows: tuple[LoggerRow, ...]
    problems: tuple[LineProblem, ...]
    n_missing: int = 0


def read_logger(text: str, layout: LoggerLayout) -> LoggerReading:
    """Return the measurements of a logger's file.

    Parameters
    ----------
    text : the whole file, already decoded
    layout : how to read it, from `logger_layouts` or chosen by the keeper

    Returns
    -------
    all rows, or no row and every problem by line

    Notes
    -----
    Empty lines are passed over. An hour that a clock change repeats is read twice, as written.
    """
    rows: list[LoggerRow] = []
    problems: list[LineProblem] = []
    n_missing = 0
    for line, cells in numbered_cells(text, layout.delimiter):
        if line < layout.first_line or not any(cell.strip() for cell in cells):
            continue
        outcome = _row(line, cells, layout)
        if isinstance(outcome, LoggerRow):
            rows.append(outcome)
        elif outcome is None:
            n_missing += 1
        else:
            problems.append(outcome)
    if not rows and not problems:
        problems.append(LineProblem(layout.first_line, "There is no measurement from this line on."))
    if problems:
        return LoggerReading((), tuple(sorted(problems, key=lambda problem: problem.line)), n_missing)
    return LoggerReading(tuple(rows), (), n_missing)


def numbered_cells(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    """Return the lines of a delimited text as (line number from 1, cells), a byte order mark taken off.

    Raises
    ------
    EntryError : with the line, for a cell longer than any table has, as an opened quote makes one
    """
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=delimiter)
    try:
        return [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise EntryError(
            f"Line {reader.line_num} is no line of a table ({error}). Nothing was imported. Look for a quote that is "
            "opened and not closed."
        ) from error


def read_number(text: str, decimal: str) -> float | None:
    """Return the number in a cell by its decimal sign, a unit behind it dropped; None where there is none.

    Examples
    --------
    >>> read_number("21,5 °C", ",")
    21.5
    >>> read_number("21,5", ".") is None
    True
    """
    bare = text.strip().removesuffix("C").removesuffix("F").strip(" °\u00a0")
    other = "," if decimal == "." else "."
    if not bare or other in bare or bare.count(decimal) > 1 or "_" in bare:
        return None
    try:
        number = float(bare.replace(decimal, "."))
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def _row(line: int, cells: Sequence[str], layout: LoggerLayout) -> LoggerRow | LineProblem | None:
    wanted = max((*layout.when, layout.value))
    if len(cells) <= wanted:
        return LineProblem(line, f"It has {len(cells)} columns; the chosen ones go up to {wanted + 1}.")
    written = " ".join(cells[i].strip() for i in layout.when)
    stamp = read_stamp(written, layout.order)
    if stamp is None:
        return LineProblem(line, f"“{written}” is no date and time in the order {layout.order.value}.")
    cell = cells[layout.value].strip()
    if cell in layout.missing:
        return None
    number = read_number(cell, layout.decimal)
    if number is None:
        return LineProblem(line, f"“{cell}” is no temperature with “{layout.decimal}” as decimal sign.")
    celsius = (number - 32) / 1.8 if layout.fahrenheit else number
    if not COLDEST_C <= celsius <= WARMEST_C:
        return LineProblem(line, f"{celsius:.1f} C is no temperature of a room: check column and unit.")
    return LoggerRow(line, stamp, celsius)
