from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

CHECKS = Path(__file__).parents[3] / "shared" / "checks"


@pytest.fixture
def checks() -> Callable[[str], dict[str, Any]]:
    return lambda name: tomllib.loads((CHECKS / f"{name}.toml").read_text("utf-8"))
