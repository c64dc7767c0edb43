"""`boxside season`: what it writes, what it says, and what it never overwrites."""

from __future__ import annotations

import csv
import json
from pathlib import Path

from tests.cli.conftest import Shell

TABLES = {
    "boxes", "cohorts", "counts", "data_dictionary", "event_fields", "events", "feedings", "kinds", "movements",
    "opening",
}  # fmt: skip


def test_it_writes_a_descriptor_and_every_declared_table(colony: Shell, tmp_path: Path) -> None:
    said = colony.ok("season", "--out", str(tmp_path / "S")).out
    assert said.splitlines()[-1] == f"Written: {tmp_path / 'S' / 'datapackage.json'}"
    package = json.loads((tmp_path / "S" / "datapackage.json").read_text(encoding="utf-8"))
    assert {resource["name"] for resource in package["resources"]} >= TABLES
    for resource in package["resources"]:
        assert f" {resource['name']}\n" in said
        assert (tmp_path / "S" / resource["path"]).stat().st_size == resource["bytes"]


def test_json_names_the_descriptor_and_the_rows(colony: Shell, tmp_path: Path) -> None:
    answer = colony.ok("season", "--out", str(tmp_path / "S"), "--json").data
    assert answer["path"] == str(tmp_path / "S" / "datapackage.json")
    for name, n in answer["rows"].items():
        with (tmp_path / "S" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            assert len(list(csv.reader(file))) == n + 1, name


def test_a_second_export_takes_the_place_of_the_first(small: Shell, tmp_path: Path) -> None:
    out = tmp_path / "S"
    small.ok("season", "--out", str(out))
    before = (out / "events.csv").read_bytes()
    small.ok("log", "B01", "fed")
    small.ok("season", "--out", str(out))
    assert (out / "events.csv").read_bytes().startswith(before)
    assert (out / "events.csv").read_bytes() != before
    assert list(out.glob(".new-*")) == []


def test_foreign_files_are_never_overwritten(small: Shell, tmp_path: Path) -> None:
    out = tmp_path / "S"
    out.mkdir()
    (out / "events.csv").write_text("my own events\n", encoding="utf-8")
    answer = small("season", "--out", str(out))
    assert (answer.status, answer.out) == (2, "")
    assert "holds other files (events.csv). Nothing was written." in answer.err
    assert [path.name for path in out.iterdir()] == ["events.csv"]
    assert (out / "events.csv").read_text(encoding="utf-8") == "my own events\n"


def test_a_foreign_descriptor_is_never_overwritten(small: Shell, tmp_path: Path) -> None:
    out = tmp_path / "S"
    out.mkdir()
    (out / "datapackage.json").write_text('{"name": "someone-elses"}', encoding="utf-8")
    assert small("season", "--out", str(out)).status == 2
    assert [path.name for path in out.iterdir()] == ["datapackage.json"]


def test_files_of_other_names_may_lie_beside_it(small: Shell, tmp_path: Path) -> None:
    out = tmp_path / "S"
    out.mkdir()
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    small.ok("season", "--out", str(out))
    assert (out / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_the_span_is_told_and_holds_both_of_its_days(small: Shell, tmp_path: Path) -> None:
    small.ok("log", "B01", "misted", on="2026-05-04")
    small.ok("log", "B01", "misted", on="2026-05-05")
    small.ok("season", "--out", str(tmp_path / "S"), "--from", "2026-05-04", "--to", "2026-05-04", on="2026-05-06")
    package = json.loads((tmp_path / "S" / "datapackage.json").read_text(encoding="utf-8"))
    assert package["boxside"]["from"] == package["boxside"]["to"] == "2026-05-04"
    with (tmp_path / "S" / "events.csv").open(encoding="utf-8", newline="") as file:
        assert [row["day"] for row in csv.DictReader(file)] == ["2026-05-04"]


def test_the_first_and_the_last_day_of_the_calendar_are_days(small: Shell, tmp_path: Path) -> None:
    small.ok("season", "--out", str(tmp_path / "S"), "--from", "0001-01-01", "--to", "9999-12-31")
    small.ok("season", "--out", str(tmp_path / "T"))
    assert (tmp_path / "S" / "events.csv").read_bytes() == (tmp_path / "T" / "events.csv").read_bytes()


def test_an_empty_log_makes_tables_of_headers_only(shell: Shell, tmp_path: Path) -> None:
    rows = shell.ok("season", "--out", str(tmp_path / "S"), "--json").data["rows"]
    assert {name: n for name, n in rows.items() if n} == {
        "kinds": rows["kinds"], "data_dictionary": rows["data_dictionary"],
    }  # fmt: skip
