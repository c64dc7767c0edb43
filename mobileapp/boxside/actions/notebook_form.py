"""An old notebook's file and how it is to be read: what the keeper said, what is remembered, else a first guess."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from boxside.actions.services import Services
from boxside.core.planning import DateOrder
from boxside.core.planning.logger_dates import read_stamp
from boxside.core.tables import (
    ROLES,
    column_roles,
    kinds_of_words,
    notebook_decimal,
    notebook_lines,
    notebook_separator,
)
from boxside.core.values.carry import NotebookMapping
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.core.values.vocabulary import Kind
from boxside.device.written import read_text
from boxside.store import reading

LARGEST_BYTES = 20_000_000
_REMEMBERED = "notebook:"
# What makes or ends things, or speaks of other entries, is for the form of its own.
_NOT_FROM_A_NOTEBOOK = ("void", "box_made", "box_changed", "box_retired", "blended", "marked", "measured", "photo")
FIELD = "field:"


@dataclass(frozen=True, slots=True)
class Notebook:
    """A notebook's text cut into cells: its headings, its lines with their numbers, and how they are to be read."""

    path: Path
    columns: tuple[str, ...]
    lines: tuple[tuple[int, list[str]], ...]
    mapping: NotebookMapping
    remembered: bool
    words: tuple[tuple[str, str], ...]
    question: str


def kinds_for_notebooks(services: Services) -> tuple[Kind, ...]:
    """Return the kinds that a notebook's lines can be: those of a box with nothing but plain fields."""
    return tuple(
        kind
        for kind in services.catalog.vocabulary.kinds.values()
        if "box" in kind.subjects and kind.name not in _NOT_FROM_A_NOTEBOOK
    )


def read_notebook(services: Services, path: Path, mapping: NotebookMapping | None) -> Notebook:
    """Return a notebook with the mapping given, or the one remembered for these columns, or a guess.

    Raises
    ------
    EntryError : if it is no text, or the mapping names a column or a role that is not there
    """
    text = read_text(path, LARGEST_BYTES, "Save the notebook as CSV.")
    separator = mapping.delimiter if mapping else notebook_separator(text)
    try:
        cut = [(line, cells) for line, cells in notebook_lines(text, separator) if any(cell.strip() for cell in cells)]
    except ValueError as error:
        raise EntryError(f"{path.name}: {error}. Nothing was imported.") from error
    if len(cut) < 2:
        raise EntryError(f"{path.name} has no line below its headings. Nothing was imported.")
    columns = tuple(cell.strip() or f"column {nth}" for nth, cell in enumerate(cut[0][1], 1))
    kept = None if mapping else _remembered(services, columns)
    used = mapping or kept or _guess(services, columns, cut[1:], separator)
    _check_signs(services, used)
    _check_columns(used, columns)
    words = _words(services, used, cut[1:])
    used = replace(used, kinds=tuple((word, kind) for word, kind in words if kind is not None))
    question = _question(used, words)
    shown = tuple((word, kind or "") for word, kind in words)
    return Notebook(path, columns, tuple(cut[1:]), used, kept is not None, shown, question)


def remembering(notebook: Notebook) -> Draft:
    """Return the entry that keeps how a notebook was read, for the next one with the same columns."""
    value = json.dumps(asdict(notebook.mapping), ensure_ascii=False, separators=(",", ":"))
    return Draft("setting_changed", "colony", "colony", {"key": _key(notebook.columns), "value": value})


def cell_of(cells: Sequence[str], column: int | None) -> str:
    """Return a cell of a line without blanks around it; empty where the line ends before it."""
    return cells[column].strip() if column is not None and column < len(cells) else ""


def _guess(
    services: Services, columns: Sequence[str], lines: Sequence[tuple[int, list[str]]], separator: str
) -> NotebookMapping:
    roles = column_roles(columns)
    others = [nth for nth in range(len(columns)) if nth not in {column for _, column in roles}]
    fields = _fields(services)
    named = tuple(
        (f"{FIELD}{fields[columns[nth].casefold()]}", nth) for nth in others if columns[nth].casefold() in fields
    )
    decimal = "," if separator == ";" else notebook_decimal(cell for _, cells in lines for cell in cells)
    guess = NotebookMapping((*roles, *dict(named).items()), delimiter=separator, decimal=decimal)
    orders = _orders(guess, lines)
    # Where no order fits every line, some line is wrong, and the reasons say which.
    return replace(guess, order="" if len(orders) > 1 else orders[0] if orders else _likely(guess, lines))


def _fields(services: Services) -> dict[str, str]:
    """Return the names and labels of the kinds' fields, case-folded, with the field's name."""
    fields = [field for kind in kinds_for_notebooks(services) for field in kind.fields]
    return {field.label.casefold(): field.name for field in fields} | {field.name: field.name for field in fields}


def _orders(mapping: NotebookMapping, lines: Sequence[tuple[int, list[str]]]) -> list[str]:
    """Return the orders of day, month and year in which all dates can be read."""
    column = mapping.column("date")
    dates = [cell for _, cells in lines if (cell := cell_of(cells, column))]
    return [str(order) for order in DateOrder if dates and all(read_stamp(cell, order) for cell in dates)]


def _likely(mapping: NotebookMapping, lines: Sequence[tuple[int, list[str]]]) -> str:
    """Return the order in which most dates can be read."""
    dates = [cell_of(cells, mapping.column("date")) for _, cells in lines]
    return str(max(DateOrder, key=lambda order: sum(read_stamp(cell, order) is not None for cell in dates)))


def _check_signs(services: Services, mapping: NotebookMapping) -> None:
    is_known = mapping.order in ("", *map(str, DateOrder)) and mapping.decimal in (".", ",")
    if not is_known or mapping.delimiter not in (",", ";", "\t", "|"):
        raise EntryError("The order of dates, the decimal sign or the separator is none. Nothing was imported.")
    kinds = {kind.name for kind in kinds_for_notebooks(services)} | {""}
    if unknown := [kind for kind in (mapping.kind, *(kind for _, kind in mapping.kinds)) if kind not in kinds]:
        raise EntryError(f"{unknown[0]!r} is no kind that a notebook's line can be. Nothing was imported.")


def _check_columns(mapping: NotebookMapping, columns: Sequence[str]) -> None:
    for role, column in mapping.columns:
        if role not in ROLES and not role.startswith(FIELD):
            known = ", ".join((*ROLES, f"{FIELD}NAME"))
            raise EntryError(f"{role!r} is nothing that a column can be (known: {known}). Nothing was imported.")
        if not 0 <= column < len(columns):
            raise EntryError(f"There is no column {column + 1} for {role}. Nothing was imported.")


def _words(
    services: Services, mapping: NotebookMapping, lines: Sequence[tuple[int, list[str]]]
) -> list[tuple[str, str | None]]:
    """Return what the notebook writes as kinds, each with its kind; None where nobody has said yet."""
    column = mapping.column("kind")
    if column is None:
        return []
    written = dict.fromkeys(word for _, cells in lines if (word := cell_of(cells, column)))
    kinds = kinds_for_notebooks(services)
    known = {
        text.casefold().replace("_", " "): kind.name for kind in kinds for text in (kind.label, kind.said, kind.name)
    }
    found = kinds_of_words(written, known) | dict(mapping.kinds)
    return [(word, found.get(word)) for word in written]


def _question(mapping: NotebookMapping, words: Sequence[tuple[str, str | None]]) -> str:
    """Return all that the keeper is still to say."""
    asked = []
    if missing := [role for role in ("date", "box") if mapping.column(role) is None]:
        asked.append(f"Which column is the {' and which the '.join(missing)}?")
    if not mapping.order and mapping.column("date") is not None:
        asked.append("Is the day or the month written first?")
    if mapping.column("kind") is None and not mapping.kind:
        asked.append("Which column says what was done, or what was done on every line?")
    if unknown := [word for word, kind in words if kind is None]:
        more = f" (and {len(unknown) - 3} more)" if len(unknown) > 3 else ""
        asked.append(f"What was done where it says {', '.join(f'“{word}”' for word in unknown[:3])}{more}?")
    return " ".join(asked)


def _key(columns: Sequence[str]) -> str:
    return _REMEMBERED + hashlib.sha256("\n".join(columns).encode("utf-8", "replace")).hexdigest()[:16]


def _remembered(services: Services, columns: Sequence[str]) -> NotebookMapping | None:
    """Return how a notebook with these columns was read before; None where it was not, or that is damaged."""
    kept = reading.entity(services.store, "setting", _key(columns))
    try:
        said = json.loads(str(kept.data.get("value"))) if kept else None
        if not isinstance(said, dict):
            return None
        roles = tuple((str(role), int(column)) for role, column in said.pop("columns"))
        kinds = tuple((str(word), str(kind)) for word, kind in said.pop("kinds"))
        return NotebookMapping(roles, kinds=kinds, **said)
    except (ValueError, TypeError, KeyError):
        return None
