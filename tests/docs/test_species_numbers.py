"""Every number of a species profile says where it comes from."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from boxside.core.values.profile import UNSOURCED

FILES = sorted((Path(__file__).parents[2] / "shared" / "species").glob("*.toml"))
# Where a feeding band begins is no measured value: the windows that it leads to carry the source.
WITHOUT = {"band"}


def tables(content: Mapping[str, Any], where: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield every table that holds a number, with where it stands."""
    if any(isinstance(value, int | float) and not isinstance(value, bool) for value in content.values()):
        yield where, content
    for key, value in content.items():
        if isinstance(value, dict):
            yield from tables(value, f"{where}.{key}".strip("."))
        elif isinstance(value, list):
            for item in value:
                if isinstance(item, dict):
                    yield from tables(item, f"{where}.{key}".strip("."))


def is_source(text: object) -> bool:
    """Return whether a text names a year, says that it could not be seen, or that there is no source at all."""
    dated = r"\b(1[89]|20)\d\d\b|, year not (seen|given)[,:]"
    return isinstance(text, str) and (text == UNSOURCED or bool(re.search(dated, text)))


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_every_number_has_a_source(path: Path) -> None:
    found = dict(tables(tomllib.loads(path.read_text(encoding="utf-8"))))
    assert len(found) > 30
    bare = [where for where, table in found.items() if where not in WITHOUT and not is_source(table.get("source"))]
    assert bare == []


def test_a_number_without_a_source_would_be_seen() -> None:
    content = tomllib.loads('[window.feed]\non = 7\nsource = "somebody said"\n[[prey]]\nsize_mm = 3\n')
    assert [where for where, table in tables(content) if not is_source(table.get("source"))] == ["window.feed", "prey"]


def test_cautions_and_prey_name_theirs() -> None:
    for path in FILES:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        for entry in (*content.get("caution", ()), *content.get("prey", ())):
            assert entry.get("source"), (path.stem, entry)
