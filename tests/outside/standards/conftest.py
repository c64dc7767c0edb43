"""The published values, and one whole season of the invented colony as it is exported."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from boxside.actions import export_season
from boxside.catalog.catalog import Catalog
from tests.actions.keeping import keeper_in
from tests.conftest import DEMO_DAY

CHECKS = Path(__file__).parents[3] / "shared" / "checks"


def published(name: str) -> dict[str, Any]:
    """Return the values of one file of checks."""
    return tomllib.loads((CHECKS / f"{name}.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="package")
def season(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory, catalog: Catalog) -> Path:
    """The folder of the exported season; nobody writes to it."""
    out = tmp_path_factory.mktemp("standards") / "season"
    keeper = keeper_in(demo_folder, catalog, DEMO_DAY)
    export_season.export_season(keeper.services, out)
    keeper.services.store.close()
    return out
