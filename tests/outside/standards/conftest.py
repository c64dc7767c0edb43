"""The published values, and one whole season of the invented colony as it is exported."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

CHECKS = Path(__file__).parents[3] / "shared" / "checks"


def published(name: str) -> dict[str, Any]:
    """Return the values of one file of checks."""
    return tomllib.loads((CHECKS / f"{name}.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="package")
def season(demo_season: Path) -> Path:
    """The folder of the exported season; nobody writes to it."""
    return demo_season
