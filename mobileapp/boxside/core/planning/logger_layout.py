"""What a logger's file looks like: every way in which it can be read, for the keeper to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from boxside.core.planning.logger_csv import LoggerLayout, numbered_cells, read_logger, read_number
from boxside.core.planning.logger_dates import DateOrder, read_stamp

_SAMPLE_LINES = 200
_WARM_WORDS = ("temp", "°c", "°f", "celsius", "fahrenheit")


@dataclass(frozen=True, slots=True)
class LayoutChoice:
    """The ways in which a file can be read, and what the keeper must still say.

    `columns` are the headings, or column numbers where there are none. `layouts` is empty where nothing
    fits, has one entry where all is clear, and several where they differ; `question` asks for the difference.
    """

    columns: tuple[str, ...]
    layouts: tuple[LoggerLayout, ...]
    question: str = ""


def logger_layouts(text: str) -> LayoutChoice:
    """Return the layouts by which every line of a file can be read.

    Parameters
    ----------
    text : the whole file, already decoded

    Notes
    -----
    A date order is offered only if all lines allow it: one day above 12 settles day and month. Where two
    orders allow all, both are offered and none is preferred. Of several number columns those headed as
    temperature count, else all. If some lines fail under every layout, the layouts that read the first row
    are offered, so that `read_logger` can name the lines.
    """
    for delimiter in _delimiters(text):
        found = _first_row(numbered_cells(text, delimiter)[:_SAMPLE_LINES], delimiter)
        if found is None:
            continue
        columns, options = found
        clean = [layout for layout in options if not read_logger(text, layout).problems]
        offered = tuple(clean or options)
        return LayoutChoice(columns, offered, _question(offered, columns))
    return LayoutChoice((), (), "No line has a date with a temperature. Is this the logger's table as text?")


def _delimiters(text: str) -> list[str]:
    head = text.removeprefix("\ufeff")[:5000]
    if head.lower().startswith("sep=") and len(head) > 4:
        return [head[4]]
    # A comma comes last: it may be the decimal sign of a table that is parted by something else.
    return [delimiter for delimiter in (";", "\t", ",") if delimiter in head]


def _first_row(
    lines: Sequence[tuple[int, list[str]]], delimiter: str
) -> tuple[tuple[str, ...], list[LoggerLayout]] | None:
    for i, (line, cells) in enumerate(lines):
        header = lines[i - 1][1] if i and len(lines[i - 1][1]) == len(cells) else []
        options = _options(cells, header, delimiter)
        if options:
            names = tuple(cell.strip() for cell in header) or tuple(str(n + 1) for n in range(len(cells)))
            return names, [replace(option, first_line=line) for option in options]
    return None


def _options(cells: Sequence[str], header: Sequence[str], delimiter: str) -> list[LoggerLayout]:
    options: list[LoggerLayout] = []
    for order in DateOrder:
        when = _when(cells, order)
        if when is None:
            continue
        # With commas between columns a decimal comma cannot be told from them.
        for decimal in (".",) if delimiter == "," else (".", ","):
            for value in _values(cells, header, when, decimal):
                hot = bool(header) and any(mark in header[value].lower() for mark in ("°f", "fahrenheit", "(f)"))
                options.append(LoggerLayout(delimiter, decimal, when, value, order, fahrenheit=hot))
    return options


def _when(cells: Sequence[str], order: DateOrder) -> tuple[int, ...] | None:
    for i, cell in enumerate(cells):
        if read_stamp(cell, order) is None:
            continue
        after = cells[i + 1] if i + 1 < len(cells) else ""
        apart = ":" not in cell and ":" in after and read_stamp(f"{cell} {after}", order) is not None
        return (i, i + 1) if apart else (i,)
    return None


def _values(cells: Sequence[str], header: Sequence[str], when: Sequence[int], decimal: str) -> list[int]:
    numbers = [i for i, cell in enumerate(cells) if i > when[-1] and read_number(cell, decimal) is not None]
    named = [i for i in numbers if header and any(word in header[i].lower() for word in _WARM_WORDS)]
    return named or numbers


def _question(layouts: Sequence[LoggerLayout], columns: Sequence[str]) -> str:
    asked = []
    if len({layout.order for layout in layouts}) > 1:
        asked.append("Is the day or the month written first?")
    if len({layout.decimal for layout in layouts}) > 1:
        asked.append("Is the decimal sign a point or a comma?")
    values = sorted({layout.value for layout in layouts})
    if len(values) > 1:
        asked.append(f"Which column is the temperature: {', '.join(columns[i] for i in values)}?")
    return " ".join(asked)
