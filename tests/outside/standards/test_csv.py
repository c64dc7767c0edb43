"""CSV against RFC 4180: its own examples, its grammar, and Python's csv module as a reader of its own."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.tables import csv_line
from tests.outside.standards.conftest import published

RULES = published("standards")["csv"]["rules"]

# The grammar of section 2 with names; TEXTDATA is %x20-21 / %x23-2B / %x2D-7E. Letters beyond ASCII and other signs
# come with UTF-8, which RFC 4180 leaves to the charset parameter.
TEXTDATA = r"[^\",\r\n]"
ESCAPED = rf'"(?:{TEXTDATA}|,|\r|\n|"")*"'
FIELD = rf"(?:{ESCAPED}|{TEXTDATA}*)"
RECORD = rf"{FIELD}(?:,{FIELD})*\r\n"
FILE = re.compile(rf"(?:{RECORD})*")

anything = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
awkward = st.text(st.sampled_from('",\r\n a;\t='), max_size=8)
records = st.lists(st.lists(awkward | anything, min_size=2, max_size=5), min_size=1, max_size=6)


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: f"rule {rule['rule']}")
def test_the_examples_of_section_2_match_shafranovich_2005(rule: dict[str, Any]) -> None:
    written = "".join(csv_line(record) for record in rule["records"])
    assert written == rule["plain"]
    assert read(written) == read(rule["text"]) == rule["records"]
    assert FILE.fullmatch(rule["text"]), "the grammar of this test knows the standard's own text"


@given(records)
@settings(deadline=None, max_examples=150)
def test_every_text_is_written_by_the_grammar_and_read_back_matches_shafranovich_2005(rows: list[list[str]]) -> None:
    text = "".join(csv_line(row) for row in rows)
    assert FILE.fullmatch(text)
    assert read(text) == rows


@pytest.mark.parametrize(
    "broken",
    ['a,b"c\r\n', '"a"b,c\r\n', '"a,c\r\n', "a,b\nc,d\n", "a,b\rc,d\r"],
    ids=["bare quote", "after", "open", "LF", "CR"],
)
def test_the_grammar_refuses_what_the_standard_does_not_allow(broken: str) -> None:
    """The control of the two tests above."""
    assert not FILE.fullmatch(broken)


def test_every_table_of_a_season_matches_shafranovich_2005(season: Path) -> None:
    tables = sorted(season.glob("*.csv"))
    assert len(tables) >= 16
    n_quoted = 0
    for path in tables:
        text = path.read_bytes().decode("utf-8")
        n_records = 0
        # One record after the other, since the grammar as one expression is slow on megabytes.
        at, record = 0, re.compile(RECORD)
        while at < len(text):
            found = record.match(text, at)
            assert found, f"{path.name}: {text[at : at + 80]!r}"
            at, n_records = found.end(), n_records + 1
        rows = read(text)
        assert len(rows) == n_records
        assert {len(row) for row in rows} == {len(rows[0])}, (
            f"{path.name}, rule 4: the same number of fields throughout"
        )
        assert "" not in rows[0]
        n_quoted += text.count('"')
    assert n_quoted > 1000, "the season has cells that need quotes"
