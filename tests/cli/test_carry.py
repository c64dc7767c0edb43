"""`boxside season` with its choices, `boxside import`, `boxside gather`: what they write, say and refuse."""

from __future__ import annotations

import csv
import json
from pathlib import Path

from tests.cli.conftest import Shell


def rows(path: Path, separator: str = ",") -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file, delimiter=separator))


def test_a_box_and_a_flavour_are_chosen(small: Shell, tmp_path: Path) -> None:
    small.ok("log", "B01", "fed", "--amount", "1.5", "--prey", "=1+1")
    small.ok("log", "B02", "misted")
    out = tmp_path / "S"
    small.ok("season", "--out", str(out), "--box", "b01", "--for", "spreadsheet", "--decimal", "comma")
    (fed,) = rows(out / "feedings.csv", ";")
    assert (fed["prey"], fed["amount"]) == ("'=1+1", "1,5")
    assert {row["code"] for row in rows(out / "events.csv", ";") if row["subject_type"] == "box"} == {"B01"}


def test_cohorts_are_named(colony: Shell, tmp_path: Path) -> None:
    colony.ok("season", "--out", str(tmp_path / "S"), "--cohort", "2025 B03", "--cohort", "2024 C06")
    assert {row["name"] for row in rows(tmp_path / "S" / "cohorts.csv")} == {"2025 B03", "2024 C06"}


def test_the_page_the_shared_archive_and_photos_come_on_request(small: Shell, tmp_path: Path) -> None:
    answer = small.ok(
        "season", "--out", str(tmp_path / "S"), "--report", "--darwin-core", "--photos", "--json"
    ).data  # fmt: skip
    assert Path(answer["report"]).read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert Path(answer["darwin_core"]).read_bytes().startswith(b"PK")
    assert answer["photos"] == 0
    said = small.ok("season", "--out", str(tmp_path / "T"), "--report").out
    assert f"Written: {tmp_path / 'T' / 'report.html'}" in said


def test_choices_that_cannot_be_are_refused_in_a_line(small: Shell, tmp_path: Path) -> None:
    out = str(tmp_path / "S")
    for words, said in (
        (("--box", "B99"), "There is no box 'B99', nor was there one. Nothing was written."),
        (("--cohort", "nobody"), "'nobody' names no single cohort"),
        (("--decimal", "comma"), "--decimal is for --for spreadsheet. Nothing was written."),
        (("--for", "art"), "invalid choice: 'art'"),
        (("--from", "2026-05-02", "--to", "2026-05-01"), "The span is the wrong way round"),
    ):
        answer = small("season", "--out", out, *words)
        assert (answer.status, answer.out) == (2, "")
        assert said in answer.err
        assert len(answer.err.splitlines()) == 1
    assert not (tmp_path / "S").exists()


def test_an_export_is_taken_in_again_and_taken_back(small: Shell, tmp_path: Path) -> None:
    out, other = tmp_path / "S", Shell(tmp_path / "other", small.capsys)
    small.ok("season", "--out", str(out))
    n = len(rows(out / "events.csv"))
    assert f"{n} events would be imported." in other.ok("import", str(out), "--preview").out
    other.ok("add", "X1")
    before = other.kept()
    said = other.ok("import", str(out / "events.csv")).out
    assert said.startswith(f"Imported: {n} events of events.csv.")
    assert "boxside merge --undo" in said
    other.ok("merge", "--undo")
    assert other.kept() == before


def test_a_table_with_faults_is_refused_with_its_lines(small: Shell, tmp_path: Path) -> None:
    out, other = tmp_path / "S", Shell(tmp_path / "other", small.capsys)
    small.ok("season", "--out", str(out))
    path = out / "events.csv"
    path.write_bytes(path.read_bytes().replace(b"+02:00,Europe/Berlin", b",Europe/Berlin", 1))
    answer = other("import", str(path), "--preview", "--json")
    assert (answer.status, answer.data["ready"], [line for line, _ in answer.data["problems"]]) == (1, False, [2])
    answer = other("import", str(path))
    assert (answer.status, answer.out) == (2, "")
    assert "events.csv, line 2: at:" in answer.err
    assert "Nothing was imported." in answer.err


NOTES = "Day,Tub,What,Of\n2026-04-01,B01,fed,2\n2026-04-02,B01,gave food,1\n2026-04-03,B07,misted,\n"


def test_a_notebook_is_assigned_previewed_and_imported(small: Shell, tmp_path: Path) -> None:
    path = tmp_path / "notes.csv"
    path.write_text(NOTES, encoding="utf-8")
    before = small.kept()
    answer = small("import", str(path), "--preview")
    assert answer.status == 1
    assert "What was done where it says “gave food”?" in answer.out
    told = ("--map", "amount=Of", "--map", "box=2", "--word", "gave food=fed")
    answer = small("import", str(path), "--preview", *told)
    assert answer.status == 1
    assert "line 4: There is no box 'B07'." in answer.out
    assert small.kept() == before
    data = small.ok("import", str(path), "--preview", "--make-boxes", *told, "--json").data
    assert (data["ready"], data["n_new"], data["new_boxes"]) == (True, 3, ["B07"])
    assert small.ok("import", str(path), "--make-boxes", *told).out == "Imported: 3 lines of notes.csv.\nMade: B07.\n"
    answer = small("import", str(path))
    assert (answer.status, "are in the log already" in answer.err) == (2, True)


def test_options_of_an_import_that_say_nothing_are_refused(small: Shell, tmp_path: Path) -> None:
    path = tmp_path / "notes.csv"
    path.write_text(NOTES, encoding="utf-8")
    for words, said in (
        (("--map", "box"), "say ROLE=COLUMN"), (("--map", "box=Lid"), "there is no column 'Lid'"),
        (("--map", "mood=1"), "'mood' is nothing that a column can be"), (("--word", "fed"), "say WORD=KIND"),
        (("--kind", "feeding"), "'feeding' is no kind"),
    ):  # fmt: skip
        answer = small("import", str(path), *words)
        assert (answer.status, answer.out) == (2, "")
        assert said in answer.err
    assert small("import", str(tmp_path / "none.csv")).status == 2


def test_archives_are_gathered(small: Shell, tmp_path: Path) -> None:
    small.ok("archive", str(tmp_path / "a.zip"))
    out = tmp_path / "G"
    data = small.ok("gather", str(tmp_path / "a.zip"), str(tmp_path / "a.zip"), "--out", str(out), "--json").data
    assert (data["archives"], data["keepers"], data["twice"]) == (2, 1, data["events"])
    assert json.loads((out / "gathered.json").read_text(encoding="utf-8"))["format"] == "boxside-gathered"
    answer = small("gather", str(tmp_path / "a.zip"), "--out", str(out))
    assert (answer.status, "is not an empty folder" in answer.err) == (2, True)
    answer = small("gather", str(tmp_path / "none.zip"), "--out", str(tmp_path / "H"))
    assert (answer.status, "There is no file" in answer.err) == (2, True)
    assert not (tmp_path / "H").exists()
