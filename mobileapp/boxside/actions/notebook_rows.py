"""The lines of an old notebook as entries that could be logged, or why they could not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC

from boxside.actions.context import zone_of
from boxside.actions.entry import named_entity
from boxside.actions.notebook_form import FIELD, Notebook, cell_of
from boxside.actions.services import Services
from boxside.core.planning import DateOrder
from boxside.core.planning.logger_dates import in_zone, read_stamp
from boxside.core.tables import number_of
from boxside.core.values.carry import NotebookMapping
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.moments import local_ms, to_ms
from boxside.core.values.vocabulary import Field, FieldType, Kind

_NOON = 12 * 60
_YES, _NO = ("yes", "y", "true", "1", "x", "ja"), ("no", "n", "false", "0", "-", "nein")
_AMOUNTS = ("n", "amount", "mass_mg", "now_c", "now_pct")


@dataclass(frozen=True, slots=True)
class Row:
    """One line as an entry at the box of a code; the draft's subject is still open."""

    line: int
    code: str
    draft: Draft


def rows_of(services: Services, notebook: Notebook) -> tuple[list[Row], list[tuple[int, str]], int]:
    """Return the entries of a notebook, why lines are none as (line, reason), and how many are passed over."""
    rows: list[Row] = []
    problems: list[tuple[int, str]] = []
    n_passed = 0
    for line, cells in notebook.lines:
        kind = _kind(services, notebook.mapping, cells)
        if kind is None:
            n_passed += 1
            continue
        try:
            rows.append(_row(services, notebook.mapping, line, cells, kind))
        except EntryError as error:
            problems.append((line, str(error)))
    rows.sort(key=lambda row: (row.draft.at_ms or 0, row.line))
    return rows, problems, n_passed


def _kind(services: Services, mapping: NotebookMapping, cells: Sequence[str]) -> Kind | None:
    """Return what was done on a line; None where such lines are passed over."""
    word = cell_of(cells, mapping.column("kind"))
    name = dict(mapping.kinds).get(word, "") if word else mapping.kind
    return services.catalog.vocabulary.get(name) if name else None


def _row(services: Services, mapping: NotebookMapping, line: int, cells: Sequence[str], kind: Kind) -> Row:
    code = cell_of(cells, mapping.column("box"))
    if not code:
        raise EntryError("No box is named.")
    fields: dict[str, Json] = {}
    for role, column in mapping.columns:
        cell = cell_of(cells, column)
        if cell and (role == "amount" or role.startswith(FIELD)):
            field = _field(kind, role)
            if field is not None:
                fields[field.name] = _value(services, mapping, field, cell)
            elif role == "amount":
                raise EntryError(f"{kind.said} has no amount, and the line says {cell!r}.")
    draft = Draft(
        kind.name, "box", "", fields, at_ms=_moment(services, mapping, cells),
        note=cell_of(cells, mapping.column("note")) or None, by=cell_of(cells, mapping.column("by")) or None,
    )  # fmt: skip
    return Row(line, code, draft)


def _field(kind: Kind, role: str) -> Field | None:
    """Return the field that a column fills in at a kind; other kinds' fields are passed over."""
    if role != "amount":
        return kind.field(role.removeprefix(FIELD))
    return next((field for name in _AMOUNTS if (field := kind.field(name)) is not None), None)


def _moment(services: Services, mapping: NotebookMapping, cells: Sequence[str]) -> int:
    day, clock = cell_of(cells, mapping.column("date")), cell_of(cells, mapping.column("time"))
    stamp = read_stamp(f"{day} {clock}".strip(), DateOrder(mapping.order))
    if stamp is None:
        wanted = {"ymd": "year, month, day", "dmy": "day, month, year", "mdy": "month, day, year"}[mapping.order]
        raise EntryError(f"“{f'{day} {clock}'.strip()}” is no date in the order {wanted}.")
    zone = zone_of(services)
    if stamp.offset_min is None and not clock and ":" not in day:
        now_ms = services.clock.now_ms()
        noon_ms = local_ms(stamp.at.date(), _NOON, zone)
        # A line of today is no line of the future, though noon may be.
        return now_ms if now_ms < noon_ms < now_ms + _NOON * 60_000 else noon_ms
    if stamp.offset_min is None:
        return to_ms(stamp.at.replace(tzinfo=zone))
    return to_ms(in_zone(stamp, 0).replace(tzinfo=UTC))


def _value(services: Services, mapping: NotebookMapping, field: Field, cell: str) -> Json:
    if field.type in (FieldType.INTEGER, FieldType.NUMBER):
        return _number(mapping, field, cell)
    if field.type is FieldType.CHOICE:
        folded = cell.casefold().replace(" ", "_")
        return next((choice for choice in field.choices if choice.casefold() == folded), cell)
    if field.type is FieldType.BOOLEAN:
        if cell.casefold() not in (*_YES, *_NO):
            raise EntryError(f"{field.label}: {cell!r} is neither yes nor no.")
        return cell.casefold() in _YES
    if field.type is FieldType.DATE:
        stamp = read_stamp(cell, DateOrder(mapping.order))
        if stamp is None:
            raise EntryError(f"{field.label}: {cell!r} is no date.")
        return stamp.at.date().isoformat()
    if field.type in (FieldType.COHORT, FieldType.AREA):
        return named_entity(services, str(field.type), cell)
    return cell


def _number(mapping: NotebookMapping, field: Field, cell: str) -> Json:
    number = number_of(cell, mapping.decimal)
    if number is None:
        raise EntryError(f"{field.label}: “{cell}” is no number with “{mapping.decimal}” as decimal sign.")
    if field.type is FieldType.INTEGER:
        if number != int(number):
            raise EntryError(f"{field.label}: “{cell}” is no whole number.")
        return int(number)
    return number
