"""Reading the TOML files of `shared/`: every fault is named with its file, its key and the reason."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from boxside.core.values.errors import DataError


class Table:
    """One table of a TOML file that knows where it stands, so that a fault can be named.

    Parameters
    ----------
    path : the file, as text for the message
    key : the dotted key of this table, empty for the whole file
    content : what the file holds there
    """

    def __init__(self, path: str, key: str, content: Mapping[str, Any]) -> None:
        self.path = path
        self.key = key
        self.content = content

    def fault(self, name: str, reason: str) -> DataError:
        """Return the error for one entry of this table."""
        return DataError(self.path, f"{self.key}.{name}" if self.key and name else self.key or name, reason)

    def text(self, name: str, default: str | None = None) -> str:
        """Return a non-empty text; the default where it is missing and one is given."""
        value = self.content.get(name, default)
        if not isinstance(value, str) or (value == "" and default is None):
            raise self.fault(name, "must be a text that is not empty")
        return value

    def number(self, name: str) -> float:
        """Return a finite number."""
        value = self.content.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise self.fault(name, "must be a number")
        return value

    def whole(self, name: str) -> int:
        """Return a whole number."""
        value = self.content.get(name)
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.fault(name, "must be a whole number")
        return value

    def table(self, name: str) -> Table:
        """Return a table within this one."""
        value = self.content.get(name)
        if not isinstance(value, dict):
            raise self.fault(name, "must be a table")
        return Table(self.path, f"{self.key}.{name}" if self.key else name, value)

    def tables(self, name: str) -> tuple[Table, ...]:
        """Return the tables of a list; an absent list is empty."""
        value = self.content.get(name, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.fault(name, "must be a list of tables")
        key = f"{self.key}.{name}" if self.key else name
        return tuple(Table(self.path, f"{key}[{i}]", item) for i, item in enumerate(value))

    def allow(self, *names: str) -> None:
        """Refuse any entry that is not among the names: a misspelt key must not pass unseen."""
        for name in self.content:
            if name not in names:
                raise self.fault(name, f"is not known here; known are {', '.join(names)}")


def read_toml(path: Path) -> Table:
    """Return the content of a TOML file.

    Raises
    ------
    DataError : if the file cannot be read or is no TOML
    """
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise DataError(str(path), "", f"cannot be read: {error}") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise DataError(str(path), "", f"is not valid TOML: {error}") from error
    return Table(str(path), "", content)
