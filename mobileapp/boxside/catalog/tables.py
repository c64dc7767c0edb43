"""`shared/tables/*.json` as tables."""

from __future__ import annotations

import json
from pathlib import Path

from boxside.core.values.errors import DataError
from boxside.core.values.table import Column, Table


def read_tables(folder: Path) -> dict[str, Table]:
    """Return all declared tables by name.

    Raises
    ------
    DataError : naming the file and what is wrong with it
    """
    return {path.stem: _table(path) for path in sorted(folder.glob("*.json"))}


def _table(path: Path) -> Table:
    try:
        schema = json.loads(path.read_text(encoding="utf-8"))
        columns = tuple(
            Column(
                name=field["name"],
                type=field["type"],
                title=field["title"],
                unit=field.get("unit", ""),
                description=field.get("description", ""),
                constraints=field.get("constraints", {}),
            )
            for field in schema["fields"]
        )
        return Table(path.stem, schema["title"], schema["description"], columns, schema)
    except (OSError, ValueError, KeyError) as error:
        raise DataError(str(path), "fields", f"{type(error).__name__}: {error}") from error
