"""CSV for spreadsheets: nothing that they would turn into something else, and all of it reversible."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.tables import csv_text, machine_cell, machine_text, original_text, spreadsheet_cell, spreadsheet_text
from tests.core.tables.test_csv_text import any_text
from tests.core.tables.texts import random_texts

# What a spreadsheet may drop at the front of a cell before it looks at it, said here once more and otherwise.
BLANK = re.compile("[\\s\0-\x20\x7f-\xa0\xad\u061c\u200b-\u200f\u2028-\u202f\u2060-\u206f\ufeff]*")


def opens_a_formula(cell: str) -> bool:
    return BLANK.sub("", cell, count=1)[:1] in tuple("=+-@＝＋－＠")


cells = any_text | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.none() | st.booleans()


@given(st.lists(st.tuples(cells, cells), max_size=6), st.sampled_from(".,"))
@settings(deadline=None, max_examples=120)
def test_a_table_goes_back_to_the_bytes_of_the_machines(rows: list[tuple[object, object]], decimal: str) -> None:
    table = [("a", "b"), *rows]
    sheet = "".join(spreadsheet_text(table, ["string", "string"], decimal)).encode("utf-8")
    assert sheet.startswith(b"\xef\xbb\xbf")
    back = machine_text(io.StringIO(sheet.decode("utf-8"), newline=""), decimal)
    assert "".join(back) == "".join(csv_text(table))


@pytest.mark.parametrize("decimal", [".", ","])
def test_no_text_opens_a_formula_and_every_one_comes_back(decimal: str) -> None:
    for text in random_texts(8_000, seed=3):
        cell = spreadsheet_cell(text, decimal)
        assert not opens_a_formula(cell), (text, cell)
        assert original_text(machine_cell(cell, decimal)) == text


def test_undefused_texts_would_open_formulas() -> None:
    """The control of the test above."""
    assert sum(opens_a_formula(text) for text in random_texts(8_000, seed=3)) > 200


@pytest.mark.parametrize(
    "text",
    [
        "=1+1", "+1", "-1", "@SUM(1)", "\t=1", "\r=1", "\n=1", " =1", "\xa0=1", "\ufeff=1", "\u200b=1", "\u202e=1",
        "＝1", "＋1", "－1", "＠a", "-", "=", "007", "1E5", "1E5,", "1.5", "1,5", "3-4", "1/2", "5%", "12:30", "8 am",
        "8:15 PM", "(5)", "$5", "2026-05-03", "3.5.2026", "DEC1", "3 May", "mars 2", "TRUE", "false", "'quoted",
    ],
)  # fmt: skip
def test_what_would_be_taken_for_something_else_is_marked(text: str) -> None:
    assert spreadsheet_cell(text, ".") == f"'{text}"


@pytest.mark.parametrize(
    "text",
    [
        "B07",
        "2023 A",
        "2024 C06",
        "mark",
        "Separated",
        "March",
        "may",
        "1st box",
        "garden snail",
        "so-so",
        "a=b",
        "",
        " ",
    ],
)
def test_what_is_plainly_text_stays_as_it_was_typed(text: str) -> None:
    assert spreadsheet_cell(text, ".") == text


def test_a_uuid_is_never_marked() -> None:
    for text in ("019b785b-2d80-7592-ae90-2d4a49802195", "12345678-1234-7234-8234-123456789012"):
        assert spreadsheet_cell(text, ",") in (text, f"'{text}")
        assert machine_cell(spreadsheet_cell(text, ","), ",") == text


def test_numbers_have_the_sign_of_the_language_and_days_stay_days() -> None:
    rows = [
        ("n", "x", "day", "at"),
        (3, -2.5, "2026-05-03", "2026-05-03T18:30:00.000+02:00"),
        (None, 1e-05, None, None),
    ]
    types = ["integer", "number", "date", "datetime"]
    text = "".join(spreadsheet_text(rows, types, ","))
    assert text == "\ufeffn;x;day;at\r\n3;-2,5;2026-05-03;2026-05-03T18:30:00.000+02:00\r\n;1e-05;;\r\n"
    assert list(csv.reader(io.StringIO("".join(machine_text(io.StringIO(text, newline=""), ",")), newline=""))) == [
        ["n", "x", "day", "at"], ["3", "-2.5", "2026-05-03", "2026-05-03T18:30:00.000+02:00"], ["", "1e-05", "", ""],
    ]  # fmt: skip


def test_a_formula_in_a_column_of_days_is_marked_all_the_same() -> None:
    assert "".join(spreadsheet_text([("day",), ("=1+1",)], ["date"], ".")) == "\ufeffday\r\n'=1+1\r\n"
