"""A million texts through both flavours of the export: `python -m tests.torture.strings`.

Every text is written as a cell of a table for machines and of tables for spreadsheets with either decimal sign, read
back by Python's csv module, and compared; no cell of a spreadsheet may begin like a formula. Some of them are opened
with LibreOffice, which may evaluate none. The control writes the same texts with the csv module alone: it must lose
some and let some become formulas, or the run proves nothing.
"""

from __future__ import annotations

import argparse
import csv
import io
import itertools
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from boxside.core.tables import csv_text, machine_cell, original_text, spreadsheet_text
from tests.core.tables.test_spreadsheet import opens_a_formula
from tests.core.tables.texts import random_texts

_PAGE = 20_000


@dataclass(slots=True)
class Count:
    """What came of the texts: how many there were, how many did not come back, how many began like a formula."""

    n: int = 0
    lost: int = 0
    formulas: int = 0

    def __str__(self) -> str:
        """All of it in a line."""
        return f"{self.n:,} texts, {self.lost:,} lost or changed, {self.formulas:,} that begin like a formula"


def pages(texts: Iterable[str]) -> Iterator[list[str]]:
    """Yield texts by the page."""
    waiting = iter(texts)
    while page := list(itertools.islice(waiting, _PAGE)):
        yield page


def through_file(lines: Iterable[str], separator: str) -> list[str]:
    """Return the texts' cells as another program reads them from the bytes of a file."""
    data = "".join(lines).encode("utf-8")
    if b"\0" in data:
        raise AssertionError("there is a NUL in the file")
    text = data.decode("utf-8-sig")
    return [row[1] for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)]


def for_machines(texts: Iterable[str]) -> Count:
    """Write and read back the tables for machines."""
    count = Count()
    for page in pages(texts):
        found = through_file(csv_text((str(nth), text) for nth, text in enumerate(page)), ",")
        count.n += len(page)
        count.lost += sum(original_text(cell) != text for cell, text in zip(found, page, strict=True))
    return count


def for_spreadsheets(texts: Iterable[str], decimal: str) -> Count:
    """Write and read back the tables for spreadsheets."""
    count = Count()
    for page in pages(texts):
        rows = ((nth, text) for nth, text in enumerate(page))
        found = through_file(spreadsheet_text(rows, ["integer", "string"], decimal), ";" if decimal == "," else ",")
        count.n += len(page)
        count.formulas += sum(map(opens_a_formula, found))
        count.lost += sum(
            original_text(machine_cell(cell, decimal)) != text for cell, text in zip(found, page, strict=True)
        )
    return count


def carelessly(texts: Iterable[str]) -> Count:
    """The control: the csv module alone, and a reader that stops at NUL as many do."""
    count = Count()
    for page in pages(texts):
        for text in page:
            file = io.StringIO(newline="")
            csv.writer(file).writerow(["0", text])
            data = file.getvalue().encode("utf-8", "replace").partition(b"\0")[0]
            cell = next(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))[1:]
            count.n += 1
            count.lost += cell != [text]
            count.formulas += opens_a_formula(text)
    return count


def in_libreoffice(n: int, seed: int) -> tuple[int, int]:
    """Return how many of `n` texts LibreOffice takes for a formula or any other thing than text, with either sign."""
    from tests.outside.standards.test_libreoffice import OFFICE, formulas, opened, rows

    evaluated = other = 0
    for decimal in ".,":
        with tempfile.TemporaryDirectory() as place:
            path = Path(place) / "sheet.csv"
            table = ((nth, text) for nth, text in enumerate(random_texts(n, seed)))
            lines = spreadsheet_text(table, ["integer", "string"], decimal)
            path.write_text("".join(lines), encoding="utf-8", newline="")
            (sheet,) = opened(Path(place), decimal, path)
            evaluated += len(formulas(sheet))
            cells = [row[1] for row in rows(sheet) if len(row) > 1]
            other += sum(cell.get(f"{OFFICE}value-type") not in (None, "string") for cell in cells)
    return evaluated, other


def run(n: int, seed: int) -> tuple[dict[str, Count], Count]:
    """Return what came of `n` texts in each flavour, and of the same without care."""
    found = {"machines": for_machines(random_texts(n, seed))}
    for decimal in ".,":
        found[f"spreadsheets, decimal {decimal}"] = for_spreadsheets(random_texts(n, seed), decimal)
    return found, carelessly(random_texts(n, seed))


def main(argv: Sequence[str]) -> int:
    """Print the counts; returns 1 where a text was lost, or where the control lost none."""
    parser = argparse.ArgumentParser(prog="python -m tests.torture.strings", description=__doc__)
    parser.add_argument("--n", type=int, default=1_000_000, help="how many texts")
    parser.add_argument("--sheets", type=int, default=100_000, help="how many of them LibreOffice opens, 0 for none")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(argv)
    found, control = run(asked.n, asked.seed)
    for name, count in found.items():
        print(f"{name}: {count}", flush=True)
    print(f"control, without care: {control}", flush=True)
    is_good = control.lost > 0 < control.formulas and not any(count.lost or count.formulas for count in found.values())
    if asked.sheets and shutil.which("soffice"):
        evaluated, other = in_libreoffice(asked.sheets, asked.seed)
        print(f"LibreOffice, {2 * asked.sheets:,} cells: {evaluated} evaluated, {other} taken for something else")
        is_good = is_good and evaluated == other == 0
    else:
        print("LibreOffice: not run" + ("" if asked.sheets == 0 else ", it is not installed"))
    return 0 if is_good else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
