"""An exported season against Data Package v2: its rules, and its reference implementation as a reader."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import shutil
from pathlib import Path
from typing import Any

import frictionless
import pytest

from tests.outside.standards.conftest import published

PACKAGE = published("standards")["package"]


@pytest.fixture
def descriptor(season: Path) -> dict[str, Any]:
    read: dict[str, Any] = json.loads((season / "datapackage.json").read_text(encoding="utf-8"))
    return read


@pytest.mark.slow
def test_a_whole_season_is_valid_to_frictionless_matches_pollock_2024(season: Path) -> None:
    report = frictionless.Package(str(season / "datapackage.json")).validate()
    assert report.valid, report.flatten(["rowNumber", "fieldName", "type", "note"])[:5]
    rows = {task.name: task.stats.get("rows", 0) for task in report.tasks}
    assert len(rows) >= 16
    assert rows["events"] > 5000, "the reader has read the rows"


def test_the_descriptor_keeps_the_rules_of_the_profile_matches_pollock_2024(
    season: Path, descriptor: dict[str, Any]
) -> None:
    assert descriptor["$schema"] == PACKAGE["profile"]
    assert re.fullmatch(r"[a-z0-9._-]+", descriptor["name"])
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d([+-]\d\d:\d\d|Z)", descriptor["created"])
    names = [resource["name"] for resource in descriptor["resources"]]
    assert len(names) == len(set(names)) >= 16
    for resource in descriptor["resources"]:
        assert resource["type"] == "table"
        for key in ("path", "hash", "mediatype"):
            assert re.fullmatch(PACKAGE[key], resource[key]), (resource["name"], key)
        data = (season / resource["path"]).read_bytes()
        assert resource["bytes"] == len(data)
        assert resource["hash"] == f"sha256:{hashlib.sha256(data).hexdigest()}"


def test_the_schemas_keep_the_rules_of_table_schema_matches_pollock_2024(
    season: Path, descriptor: dict[str, Any]
) -> None:
    for resource in descriptor["resources"]:
        schema = resource["schema"]
        fields = [field["name"] for field in schema["fields"]]
        assert len(fields) == len(set(fields)) > 1
        assert {field["type"] for field in schema["fields"]} <= set(PACKAGE["field_types"])
        key = schema.get("primaryKey", [])
        assert isinstance(key, list), "v2: always an array"
        assert set(key) <= set(fields)
        with (season / resource["path"]).open(encoding="utf-8", newline="") as file:
            assert next(csv.reader(file)) == fields, "fieldsMatch is exact where nothing is said"


@pytest.fixture
def transfers(season: Path, descriptor: dict[str, Any], tmp_path: Path) -> Path:
    """A package of one small table of the season."""
    (resource,) = (one for one in descriptor["resources"] if one["name"] == "transfers")
    shutil.copy(season / "transfers.csv", tmp_path)
    (tmp_path / "datapackage.json").write_text(json.dumps({**descriptor, "resources": [resource]}), encoding="utf-8")
    return tmp_path


def errors(folder: Path) -> set[str]:
    report = frictionless.Package(str(folder / "datapackage.json")).validate()
    return {kind for (kind,) in report.flatten(["type"])}


def test_the_package_of_one_table_is_valid(transfers: Path) -> None:
    assert errors(transfers) == set()


@pytest.mark.parametrize("change", PACKAGE["broken"], ids=lambda change: change["what"])
def test_a_broken_copy_is_refused_matches_pollock_2024(transfers: Path, change: dict[str, Any]) -> None:
    """The control: what a reader finds valid above, it does look at."""
    path = transfers / "transfers.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert len(rows) > 10
    if cell := change.get("cell"):
        column = rows[0].index(cell["column"])
        assert rows[cell["row"]][column] != cell["value"]
        rows[cell["row"]][column] = cell["value"]
    if "repeat" in change:
        rows.append(rows[change["repeat"]])
    if "append" in change:
        rows[1].append(change["append"])
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    assert change["error"] in errors(transfers)


@pytest.mark.parametrize("key", ["resources", "path", "name"])
def test_a_descriptor_without_what_is_required_is_refused_matches_pollock_2024(transfers: Path, key: str) -> None:
    path = transfers / "datapackage.json"
    package = json.loads(path.read_text(encoding="utf-8"))
    del (package if key == "resources" else package["resources"][0])[key]
    path.write_text(json.dumps(package), encoding="utf-8")
    try:
        found = errors(transfers)
    except frictionless.FrictionlessException as error:
        found = {error.error.type}
    assert found & {"package-error", "resource-error"}


def test_a_missing_file_is_refused(transfers: Path) -> None:
    (transfers / "transfers.csv").unlink()
    assert errors(transfers) == {"scheme-error"}
