"""The tables for a spreadsheet in a spreadsheet: LibreOffice opens them and evaluates nothing of what was typed.

Needs `soffice` (.ci/apt.txt has libreoffice-calc); without it these tests are skipped and say so.
"""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest

from boxside.actions import export_season
from boxside.core.tables import SEPARATORS, spreadsheet_text
from boxside.core.values.carry import Flavour, SeasonChoice
from tests.actions.keeping import Keeper
from tests.core.tables.texts import random_texts

SOFFICE = shutil.which("soffice")
pytestmark = pytest.mark.skipif(
    SOFFICE is None, reason="LibreOffice is not installed: apt-get install libreoffice-calc"
)
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
# Separator, quote, UTF-8 (76), first line, no column formats, language (1033 English, 1031 German), quoted cells are
# looked at like all others, and what looks like a number or a date becomes one: how a person opens a file.
FORMS = {".": "44,34,76,1,,1033,false,true,false", ",": "59,34,76,1,,1031,false,true,false"}
N_TEXTS = 4_000


def opened(folder: Path, decimal: str, *paths: Path) -> list[ElementTree.Element]:
    """Return the tables as LibreOffice sees them, all files at once."""
    profile = folder / "profile"
    subprocess.run(
        [
            SOFFICE or "", "--headless", f"-env:UserInstallation={profile.as_uri()}", "--norestore",
            f"--infilter=Text - txt - csv (StarCalc):{FORMS[decimal]}", "--convert-to", "fods", "--outdir", str(folder),
            *map(str, paths),
        ],
        check=True, capture_output=True, timeout=300,
    )  # fmt: skip
    return [ElementTree.parse(folder / f"{path.stem}.fods").getroot() for path in paths]


def rows(root: ElementTree.Element) -> Iterator[list[ElementTree.Element]]:
    """Yield the cells of every row; one that stands for several equal ones comes as often."""
    for row in root.iter(f"{TABLE}table-row"):
        cells: list[ElementTree.Element] = []
        for cell in row.iter(f"{TABLE}table-cell"):
            cells += [cell] * min(int(cell.get(f"{TABLE}number-columns-repeated", "1")), 60)
        yield cells


def formulas(root: ElementTree.Element) -> list[str]:
    return [str(cell.get(f"{TABLE}formula")) for cell in root.iter() if cell.get(f"{TABLE}formula")]


def write(path: Path, lines: Iterator[str]) -> Path:
    path.write_text("".join(lines), encoding="utf-8", newline="")
    return path


@pytest.mark.slow
@pytest.mark.parametrize("decimal", [".", ","])
def test_texts_are_texts_and_nothing_is_evaluated_matches_owasp_2023(tmp_path: Path, decimal: str) -> None:
    table = [("n", "text"), *((nth, text) for nth, text in enumerate(random_texts(N_TEXTS, seed=5)))]
    path = write(tmp_path / "sheet.csv", spreadsheet_text(table, ["integer", "string"], decimal))
    control = tmp_path / "control.csv"
    with control.open("w", encoding="utf-8", newline="", errors="replace") as file:
        writer = csv.writer(file, delimiter=SEPARATORS[decimal])
        writer.writerows((nth, text.replace("\0", "")) for nth, text in enumerate(random_texts(500, seed=5)))
    sheet, plain = opened(tmp_path, decimal, path, control)
    assert formulas(sheet) == []
    assert formulas(plain), "the control: without the mark some are evaluated"
    found = {}
    for cells in rows(sheet):
        if len(cells) > 1 and cells[0].get(f"{OFFICE}value-type") == "float":
            kind = cells[1].get(f"{OFFICE}value-type")
            assert kind in (None, "string"), (kind, "".join(cells[1].itertext()))
            found[int(float(cells[0].get(f"{OFFICE}value", "nan")))] = kind
    assert set(found) == set(range(N_TEXTS))


@pytest.mark.slow
def test_a_season_opens_with_its_numbers_days_and_texts(keeper: Keeper, tmp_path: Path) -> None:
    keeper.stand("2026-04-20")
    keeper.add("B01", n=30, instar=1)
    keeper.add("007", n=20, instar=1)
    keeper.stand("2026-05-03")
    for prey in ('=HYPERLINK("http://a.invalid";"b")', "+1", "-1+2", "@SUM(A1)", "3-4", "DEC1", "two\nlines; and more"):
        keeper.log("B01", "fed", prey=prey, amount=1.5)
    out = tmp_path / "S"
    export_season.export_chosen(keeper.services, out, SeasonChoice(flavour=Flavour.SPREADSHEET, decimal=","))
    names = ["feedings", "boxes", "event_fields", "movements"]
    found = dict(zip(names, opened(tmp_path, ",", *(out / f"{name}.csv" for name in names)), strict=True))
    assert [text for root in found.values() for text in formulas(root)] == []
    feedings = [cells for cells in rows(found["feedings"]) if len(cells) > 8]
    header = ["".join(cell.itertext()).strip() for cell in feedings[0]]
    with (out / "feedings.csv").open(encoding="utf-8-sig", newline="") as file:
        written = list(csv.DictReader(io.StringIO(file.read(), newline=""), delimiter=";"))
    for cells, row in zip(feedings[1:8], written, strict=True):
        by_name = dict(zip(header, cells, strict=False))
        assert by_name["day"].get(f"{OFFICE}value-type") == "date"
        assert by_name["amount"].get(f"{OFFICE}value") == "1.5"
        shown = "\n".join("".join(part.itertext()) for part in by_name["prey"].iter(f"{TEXT}p"))
        assert (by_name["prey"].get(f"{OFFICE}value-type"), shown) == ("string", row["prey"])
        assert row["prey"].startswith("'") != row["prey"].startswith("two")
    codes = ["".join(cells[1].itertext()).strip() for cells in rows(found["boxes"]) if len(cells) > 5]
    assert codes[1:3] == ["'007", "B01"]
