"""What most tests begin with: the catalog, a keeper with an empty log, and the invented colony."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from boxside.actions import demo_colony, export_season
from boxside.catalog.catalog import Catalog, load_catalog
from tests.actions.keeping import Keeper, keeper_in

# Whoever imports Kivy first: it would print every statement of the log in colour.
os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")

ROOT = Path(__file__).parents[1]
DEMO_DAY = "2026-05-03"


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    """All of `shared/`."""
    return load_catalog(ROOT / "shared")


@pytest.fixture
def make_keeper(tmp_path: Path, catalog: Catalog) -> Iterator[Callable[..., Keeper]]:
    """Make keepers whose logs are closed afterwards."""
    made: list[Keeper] = []

    def make(name: str = "log", day: str = DEMO_DAY, zone: str = "Europe/Berlin") -> Keeper:
        made.append(keeper_in(tmp_path / name, catalog, day, zone))
        return made[-1]

    yield make
    for keeper in made:
        keeper.services.store.close()


@pytest.fixture
def keeper(make_keeper: Callable[..., Keeper]) -> Keeper:
    """A keeper with an empty log, on the evening of 3 May 2026 in Berlin."""
    return make_keeper()


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory, catalog: Catalog) -> Path:
    """The folder of a filled demo log that nobody writes to; copy it."""
    folder = tmp_path_factory.mktemp("demo") / "log"
    keeper = keeper_in(folder, catalog)
    demo_colony.fill(keeper.services)
    keeper.services.store.close()
    return folder


@pytest.fixture(scope="session")
def demo_season(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory, catalog: Catalog) -> Path:
    """The folder of the whole invented colony as it is exported; nobody writes to it."""
    out = tmp_path_factory.mktemp("season") / "whole"
    keeper = keeper_in(demo_folder, catalog, DEMO_DAY)
    export_season.export_season(keeper.services, out)
    keeper.services.store.close()
    return out


@pytest.fixture
def demo(demo_folder: Path, tmp_path: Path, make_keeper: Callable[..., Keeper]) -> Keeper:
    """A keeper of the invented colony, on 3 May 2026."""
    shutil.copytree(demo_folder, tmp_path / "demo")
    return make_keeper("demo")
