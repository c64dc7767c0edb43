"""The published values that growth is checked against."""

import tomllib
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def checks():
    path = Path(__file__).parents[3] / "shared" / "checks" / "growth.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))
