"""A table of the export as it is declared in `shared/tables/`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its Table Schema type, title, unit, description and constraints."""

    name: str
    type: str
    title: str
    unit: str
    description: str
    constraints: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Table:
    """One table; `schema` is the declaration as it goes into the descriptor."""

    name: str
    title: str
    description: str
    columns: tuple[Column, ...]
    schema: Mapping[str, Any]

    @property
    def header(self) -> tuple[str, ...]:
        """The names of the columns."""
        return tuple(column.name for column in self.columns)
