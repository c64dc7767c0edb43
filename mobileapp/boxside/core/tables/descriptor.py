"""The descriptor of an exported season and the tables that explain the others.

References
----------
Frictionless Data 2024, Data Package v2.0 and Table Schema v2.0, https://datapackage.org.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from boxside.core.tables.spreadsheet import SEPARATORS
from boxside.core.values.table import Table
from boxside.core.values.vocabulary import Vocabulary

PROFILE_URL = "https://datapackage.org/profiles/2.0/datapackage.json"
TABLE_URL = "https://datapackage.org/profiles/2.0/tableschema.json"


@dataclass(frozen=True, slots=True)
class FileNote:
    """What is known of a written table: its file, size, sha256 and number of records."""

    table: Table
    path: str
    n_bytes: int
    sha256: str
    n_rows: int


def descriptor(
    files: Sequence[FileNote], created: str, from_day: str, to_day: str, app: str, decimal: str = ""
) -> dict[str, Any]:
    """Return the descriptor of a season's package.

    Parameters
    ----------
    files : the written tables
    created : when, ISO 8601
    from_day, to_day : the span, both included; empty where it is open
    app : name and version of what wrote it
    decimal : the decimal sign of tables for a spreadsheet; empty for those for analysis
    """
    return {
        "$schema": PROFILE_URL,
        "name": "boxside-season",
        "title": "Records of a captive glow-worm colony",
        "description": f"Everything logged from {from_day or 'the beginning'} to {to_day or 'the day of export'}.",
        "created": created,
        "version": "1.0.0",
        "boxside": {"written_by": app, "from": from_day or None, "to": to_day or None, **_flavour(decimal)},
        "resources": [_resource(file, decimal) for file in files],
    }


def _flavour(decimal: str) -> dict[str, str]:
    return {"flavour": "spreadsheet", "decimal": decimal} if decimal else {"flavour": "analysis"}


def _resource(file: FileNote, decimal: str) -> dict[str, Any]:
    return {
        "name": file.table.name,
        "type": "table",
        "path": file.path,
        "title": file.table.title,
        "description": file.table.description,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": file.n_bytes,
        "hash": f"sha256:{file.sha256}",
        "dialect": {
            "delimiter": SEPARATORS[decimal or "."],
            "lineTerminator": "\r\n",
            "quoteChar": '"',
            "doubleQuote": True,
        },
        "schema": {"$schema": TABLE_URL, **_schema(file.table, decimal)},
    }


def _schema(table: Table, decimal: str) -> Mapping[str, Any]:
    """Return the declaration of a table; its numbers say with which sign they are written, where that is no point."""
    if decimal in ("", "."):
        return table.schema
    fields = [
        {**field, "decimalChar": decimal} if field["type"] == "number" else field for field in table.schema["fields"]
    ]
    return {**table.schema, "fields": fields}


def dictionary_rows(tables: Iterable[Table]) -> Iterator[tuple[object, ...]]:
    """Yield a row for every column of every table."""
    for table in tables:
        for column in table.columns:
            allowed = _allowed(column.constraints)
            yield table.name, column.name, column.title, column.type, column.unit, allowed, column.description


def _allowed(constraints: Mapping[str, Any]) -> str:
    if "enum" in constraints:
        return " | ".join(str(value) for value in constraints["enum"])
    low, high = constraints.get("minimum"), constraints.get("maximum")
    parts = [f">= {low}" if low is not None else "", f"<= {high}" if high is not None else ""]
    return ", ".join(part for part in parts if part)


def kind_rows(vocabulary: Vocabulary) -> Iterator[tuple[object, ...]]:
    """Yield a row for every kind of event and one for each of its fields."""
    for kind in vocabulary.kinds.values():
        subjects, stages = " | ".join(kind.subjects), " | ".join(kind.stages)
        head = (kind.name, "", kind.label, kind.group, subjects, stages, str(kind.witness))
        yield (*head, None, None, None, None, None, None)
        for field in kind.fields:
            yield (
                kind.name, field.name, field.label, kind.group, None, None, None, str(field.type), field.unit,
                field.minimum, field.maximum, " | ".join(field.choices), field.required,
            )  # fmt: skip


def _form(package: Mapping[str, Any]) -> str:
    own = package["boxside"]
    if own.get("flavour") != "spreadsheet":
        return "RFC 4180"
    return f"cells apart by {SEPARATORS[own['decimal']]!r}, decimal sign {own['decimal']!r}"


def package_readme(package: Mapping[str, Any]) -> str:
    """Return the plain page that lies beside the tables."""
    lines = [package["title"], "", package["description"], ""]
    lines += [f"Tables (UTF-8, {_form(package)}; datapackage.json describes every column):", ""]
    lines += [f"- {r['path']}: {r['description']}" for r in package["resources"]]
    lines += ["", *_SPREADSHEET] if package["boxside"].get("flavour") == "spreadsheet" else []
    lines += ["", *_READING, ""]
    return "\n".join(lines)


_READING = (
    "Times are ISO 8601 with the offset in force where it happened; the zone has its own column.",
    "Ids are UUIDs. Entries that were taken back or corrected stay in events.csv; the column standing says which",
    "count. movements.csv and opening.csv are the headcount's double entry: opening + changes = present.",
    "U+FFFD and four hexadecimal digits stand for a sign that no text file can carry: NUL, half a surrogate pair,",
    "or U+FFFD itself.",
)
_SPREADSHEET = (
    "These tables are for a spreadsheet: they begin with a byte order mark; separator and decimal sign are as chosen.",
    "A text that a spreadsheet would take for a formula, a number or a date has an apostrophe in front. To undo it,",
    "take one apostrophe away from every cell that begins with one; that gives back exactly what was logged, and",
    "`boxside import` does so by itself.",
)
