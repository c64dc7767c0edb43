"""Both flavours as frictionless, pandas and DuckDB read them, by nothing but the descriptor beside the tables."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import frictionless
import pandas as pd
import pytest

from boxside.actions import export_season
from boxside.catalog.catalog import Catalog
from boxside.core.tables import machine_cell
from boxside.core.values.carry import Flavour, SeasonChoice
from tests.actions.keeping import keeper_in
from tests.conftest import DEMO_DAY
from tests.outside.standards.conftest import published

SPAN = (date(2025, 10, 1), date(2026, 3, 1))
FLAVOURS = {"analysis": "", "comma": ","}
BEGINS = tuple(published("standards")["spreadsheet"]["begins"])


@pytest.fixture(scope="module")
def folders(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory, catalog: Catalog) -> dict[str, Path]:
    """Some months of the invented colony in each flavour."""
    work = tmp_path_factory.mktemp("flavours")
    keeper = keeper_in(demo_folder, catalog, DEMO_DAY)
    for name, decimal in FLAVOURS.items():
        choice = SeasonChoice(
            *SPAN, flavour=Flavour.SPREADSHEET if decimal else Flavour.ANALYSIS, decimal=decimal or "."
        )
        export_season.export_chosen(keeper.services, work / name, choice)
    keeper.services.store.close()
    return {name: work / name for name in FLAVOURS}


def resources(folder: Path) -> list[dict[str, Any]]:
    package: dict[str, Any] = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    return package["resources"]


def decimal_of(resource: dict[str, Any]) -> str:
    return next((f["decimalChar"] for f in resource["schema"]["fields"] if "decimalChar" in f), ".")


@pytest.mark.parametrize("flavour", FLAVOURS)
def test_the_package_is_valid_to_frictionless_matches_pollock_2024(folders: dict[str, Path], flavour: str) -> None:
    report = frictionless.Package(str(folders[flavour] / "datapackage.json")).validate()
    assert report.valid, report.flatten(["rowNumber", "fieldName", "type", "note"])[:5]
    assert sum(task.stats.get("rows", 0) for task in report.tasks) > 5000


def read(folder: Path, resource: dict[str, Any]) -> pd.DataFrame:
    """Read a table by its descriptor, as anybody could."""
    return pd.read_csv(
        folder / resource["path"], sep=resource["dialect"]["delimiter"], decimal=decimal_of(resource),
        encoding="utf-8-sig", keep_default_na=False, na_values=[""],
    )  # fmt: skip


def test_numbers_are_the_same_to_pandas_in_every_flavour(folders: dict[str, Path]) -> None:
    n_numbers = 0
    for resource in resources(folders["analysis"]):
        columns = [f["name"] for f in resource["schema"]["fields"] if f["type"] in ("integer", "number")]
        plain = read(folders["analysis"], resource)[columns]
        (other,) = (one for one in resources(folders["comma"]) if one["name"] == resource["name"])
        pd.testing.assert_frame_equal(read(folders["comma"], other)[columns], plain)
        n_numbers += int(plain.notna().to_numpy().sum())
    assert n_numbers > 5000


def duck(folder: Path, resource: dict[str, Any]) -> str:
    path, dialect = folder / resource["path"], resource["dialect"]
    return (
        f"read_csv('{path}', delim = '{dialect['delimiter']}', quote = '\"', escape = '\"', header = true, "
        f"decimal_separator = '{decimal_of(resource)}', sample_size = -1)"
    )


def asked(sql: str) -> tuple[Any, ...]:
    """Return the one row that DuckDB answers."""
    with duckdb.connect() as connection:
        (row,) = connection.execute(sql).fetchall()
    return tuple(row)


def test_sums_and_counts_are_the_same_to_duckdb_and_pandas(folders: dict[str, Path]) -> None:
    for flavour in ("analysis", "comma"):
        for name, column in (("movements", "change"), ("feedings", "amount"), ("bodies", "length_mm")):
            (resource,) = (one for one in resources(folders[flavour]) if one["name"] == name)
            n, total = asked(f"SELECT count(*), sum({column}) FROM {duck(folders[flavour], resource)}")
            table = read(folders[flavour], resource)
            assert n == len(table) > 20
            assert float(total) == pytest.approx(table[column].sum())


def test_moments_and_days_are_instants_to_duckdb(folders: dict[str, Path]) -> None:
    (resource,) = (one for one in resources(folders["analysis"]) if one["name"] == "events")
    source = duck(folders["analysis"], resource)
    first, last, n = asked(f'SELECT min(CAST("at" AS TIMESTAMPTZ)), max(CAST(day AS DATE)), count(*) FROM {source}')
    table = read(folders["analysis"], resource)
    assert pd.Timestamp(first).tz_convert("UTC") == pd.to_datetime(table["at"], utc=True).min()
    assert (last.isoformat(), n) == (table["day"].max(), len(table))


def test_no_cell_begins_like_a_formula_matches_owasp_2023(folders: dict[str, Path]) -> None:
    """Numbers may be negative; every other cell that begins so has the mark, and without it is the machine's."""
    n_marked = n_cells = 0
    for resource in resources(folders["comma"]):
        sheet = pd.read_csv(
            folders["comma"] / resource["path"], sep=";", dtype=str, keep_default_na=False, encoding="utf-8-sig"
        )
        plain = pd.read_csv(folders["analysis"] / resource["path"], dtype=str, keep_default_na=False)
        for field in resource["schema"]["fields"]:
            column = sheet[field["name"]]
            if field["type"] not in ("integer", "number"):
                assert not column.str.startswith(BEGINS).any(), (resource["name"], field["name"])
            assert [machine_cell(cell, ",") for cell in column] == list(plain[field["name"]])
            n_marked += int(column.str.startswith("'").sum())
            n_cells += len(column)
    assert n_marked > 20
    assert n_cells > 50_000
