"""CSV for machines: what the fast way writes, and that every text comes back."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.tables import cell, csv_line, csv_text, original_text, writable_text
from boxside.core.values.stages import Stage
from tests.core.tables.texts import PIECES, random_texts

any_text = st.text(st.characters(exclude_categories=()), max_size=12) | st.lists(st.sampled_from(PIECES)).map("".join)
values = (
    any_text | st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.dates()
    | st.datetimes(timezones=st.just(UTC)) | st.dictionaries(st.text("ab"), any_text, max_size=2)
    | st.sampled_from(Stage)
)  # fmt: skip


@given(st.lists(st.lists(values, min_size=2, max_size=5), max_size=6))
@settings(deadline=None, max_examples=100)
def test_pages_are_what_single_records_are(rows: list[list[object]]) -> None:
    assert "".join(csv_text(rows)) == "".join(csv_line(row) for row in rows)


@given(any_text)
@settings(deadline=None, max_examples=150)
def test_every_text_comes_back_from_the_bytes_of_a_file(text: str) -> None:
    data = "".join(csv_text([("a", text), (text, "b")])).encode("utf-8")
    assert b"\0" not in data
    rows = list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))
    assert [[original_text(one) for one in row] for row in rows] == [["a", text], [text, "b"]]


def test_ten_thousand_texts_come_back() -> None:
    texts = list(random_texts(10_000, seed=1))
    file = io.StringIO("".join(csv_text((str(nth), text) for nth, text in enumerate(texts))), newline="")
    assert [original_text(row[1]) for row in csv.reader(file, strict=True)] == texts


def test_the_csv_module_alone_would_not_bring_them_back() -> None:
    """The control: without the escape there are texts that no UTF-8 file can hold."""
    lost = 0
    for text in random_texts(2_000, seed=2):
        try:
            text.encode("utf-8")
        except UnicodeEncodeError:
            lost += 1
    assert lost > 100


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("", ""),
        ("B07", "B07"),
        ("é", "é"),
        ("a\0b", "a\ufffd0000b"),
        ("\ud800", "\ufffdd800"),
        ("\ufffd", "\ufffdfffd"),
    ],
)
def test_only_what_no_file_can_carry_is_escaped(text: str, written: str) -> None:
    assert writable_text(text) == cell(text) == written
    assert original_text(written) == text


def test_a_sign_that_an_older_export_replaced_stays() -> None:
    assert original_text("a \ufffd b \ufffdxyz") == "a \ufffd b \ufffdxyz"


def test_days_and_moments_are_iso() -> None:
    assert cell(date(2026, 5, 3)) == "2026-05-03"
    assert cell(datetime(2026, 5, 3, 18, 30, tzinfo=UTC)) == "2026-05-03T18:30:00+00:00"


def test_long_tables_are_not_held() -> None:
    """A page is written before the next row is asked for."""
    asked = 0

    def rows() -> object:
        nonlocal asked
        for nth in range(10_000):
            asked += 1
            yield (nth, "x")

    pages = csv_text(rows())  # type: ignore[arg-type]
    next(pages)
    assert asked < 1000
