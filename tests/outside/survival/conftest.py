"""The published values that survival is checked against."""

import tomllib
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def checks():
    path = Path(__file__).parents[3] / "shared" / "checks" / "survival.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))
