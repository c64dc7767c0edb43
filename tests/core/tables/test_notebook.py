"""Old notebooks: the guesses that fill in the form."""

from __future__ import annotations

import pytest

from boxside.core.tables import (
    column_roles,
    kinds_of_words,
    notebook_decimal,
    notebook_lines,
    notebook_separator,
    number_of,
)


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_the_separator_is_what_cuts_all_lines_alike(sign: str) -> None:
    text = "\n".join(sign.join(row) for row in (["date", "box", "note"], ["3.5.26", "B07", "a, b"], ["", "", ""]))
    if sign == ",":
        text = text.replace("a, b", '"a, b"')
    assert notebook_separator(text) == sign


def test_decimal_commas_do_not_pass_for_separators() -> None:
    assert notebook_separator("day;mass\n3.5.26;1,25\n4.5.26;1,5\n") == ";"


def test_lines_carry_the_number_on_which_they_begin() -> None:
    text = '\ufeffa,b\r\n"two\r\nlines",1\r\nx,2\r\n'
    assert notebook_lines(text, ",") == [(1, ["a", "b"]), (2, ["two\r\nlines", "1"]), (4, ["x", "2"])]


def test_headings_name_their_roles_once() -> None:
    assert dict(column_roles(["When", "Container", "Action", "How many", "Remarks", "Who", "When"])) == {
        "date": 0, "box": 1, "kind": 2, "amount": 3, "note": 4, "by": 5,
    }  # fmt: skip
    assert dict(column_roles(["Box number", "number", "date of feeding"])) == {"box": 0, "amount": 1, "date": 2}
    assert column_roles(["x", "y"]) == ()


def test_numbers_are_read_with_one_sign_only() -> None:
    assert notebook_decimal(["1,5", "2,25", "x", "3.5"]) == ","
    assert notebook_decimal(["1", "x"]) == "."
    assert [number_of(cell, ",") for cell in ("1,5", "1.5", "1.000,5", "x", "", "inf", "-2")] == [
        1.5, None, None, None, None, None, -2.0,
    ]  # fmt: skip


def test_words_are_kinds_by_name_or_label_whatever_their_case() -> None:
    known = {"fed": "fed", "meal taken out": "meal_taken_out"}
    assert kinds_of_words(["Fed", "meal_taken_out", "Meal  taken out", "gave food"], known) == {
        "Fed": "fed", "meal_taken_out": "meal_taken_out", "Meal  taken out": "meal_taken_out",
    }  # fmt: skip
