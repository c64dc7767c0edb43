"""Many small archives of invented keepers, some of whom have two phones that were merged."""

from __future__ import annotations

from pathlib import Path

from boxside.actions import make_archive, merge_archive
from boxside.catalog.catalog import Catalog
from tests.actions.keeping import Keeper, keeper_in


def small_keeper(folder: Path, catalog: Catalog, nth: int) -> Keeper:
    """Return a keeper of one box with `nth` deaths and `nth + 1` feedings over two years, one of them taken back."""
    keeper = keeper_in(folder, catalog, "2025-06-01")
    keeper.add("B01", n=30 + nth, instar=1)
    for feeding in range(nth % 5 + 1):
        keeper.stand("2025-07-01" if feeding % 2 else "2026-02-01")
        keeper.log("B01", "fed", prey="garden snail", amount=feeding + 1)
    keeper.stand("2026-03-01")
    for _ in range(nth % 3):
        keeper.wait(2)
        keeper.log("B01", "died", n=1)
    return keeper


def archives(folder: Path, catalog: Catalog, n: int) -> list[Path]:
    """Return `n` archives of as many keepers."""
    made = []
    for nth in range(n):
        keeper = small_keeper(folder / f"log{nth}", catalog, nth)
        make_archive.make_archive(keeper.services, folder / f"keeper{nth:03d}.zip")
        keeper.services.store.close()
        made.append(folder / f"keeper{nth:03d}.zip")
    return made


def merged(folder: Path, catalog: Catalog, first: Path, name: str) -> Path:
    """Return the archive of another phone that has taken in a first one."""
    keeper = keeper_in(folder / name, catalog, "2026-04-01")
    keeper.add("C01", n=4, instar=2)
    merge_archive.merge_archive(keeper.services, first)
    made = folder / f"{name}.zip"
    make_archive.make_archive(keeper.services, made)
    keeper.services.store.close()
    return made
