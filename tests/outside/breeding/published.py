"""The published values for this room, from `shared/checks/breeding.toml`."""

import tomllib
from pathlib import Path
from typing import Any

PUBLISHED: dict[str, Any] = tomllib.loads(
    (Path(__file__).parents[3] / "shared" / "checks" / "breeding.toml").read_text(encoding="utf-8")
)
