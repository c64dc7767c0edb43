"""Identifiers against RFC 9562 and against Python's own `uuid`, which had no part in making them."""

from __future__ import annotations

import csv
import uuid
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.values.ids import is_uuid, uuid7, uuid7_ms
from boxside.core.values.moments import to_ms
from tests.outside.standards.conftest import published

UUID7 = published("standards")["uuid7"]


def test_the_uuid_of_appendix_a_6_matches_davis_2024() -> None:
    made = uuid7(UUID7["unix_ms"], UUID7["rand_a"], UUID7["rand_b"])
    assert made == UUID7["value"].lower(), "section 4: lower case in output"
    assert uuid7_ms(made) == UUID7["unix_ms"] == to_ms(datetime.fromisoformat(UUID7["moment"]))


@given(st.integers(0, 2**48 - 1), st.integers(0, 2**12 - 1), st.integers(0, 2**62 - 1))
@settings(deadline=None, max_examples=150)
def test_every_part_lies_in_the_bits_of_section_5_7_matches_davis_2024(ms: int, rand_a: int, rand_b: int) -> None:
    text = uuid7(ms, rand_a, rand_b)
    read = uuid.UUID(text)
    assert str(read) == text
    assert (read.version, read.variant) == (7, uuid.RFC_4122)
    assert (read.int >> 80, read.int >> 64 & 0xFFF, read.int & 2**62 - 1) == (ms, rand_a, rand_b)
    assert uuid7_ms(text) == ms


@given(st.integers(0, 2**48 - 2), st.integers(1, 10**9), st.data())
@settings(deadline=None, max_examples=100)
def test_a_later_uuid_sorts_after_an_earlier_one_matches_davis_2024(
    ms: int, later_ms: int, data: st.DataObject
) -> None:
    """Section 6.11: time-ordered values sort as opaque text, whatever their random bits."""
    bits = st.tuples(st.integers(0, 2**12 - 1), st.integers(0, 2**62 - 1))
    earlier, later = data.draw(bits), data.draw(bits)
    assert uuid7(ms, *earlier) < uuid7(min(ms + later_ms, 2**48 - 1), *later)


@pytest.mark.parametrize("parts", [(-1, 0, 0), (2**48, 0, 0), (0, 2**12, 0), (0, 0, 2**62), (0, -1, 0)])
def test_a_part_that_does_not_fit_is_refused(parts: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="bits"):
        uuid7(*parts)


@pytest.mark.parametrize("text", ["", UUID7["value"], UUID7["value"].lower().replace("-", ""), "g" * 36])
def test_other_forms_are_no_id(text: str) -> None:
    assert not is_uuid(text)
    assert uuid7_ms(text) is None


def test_a_uuid_of_another_version_carries_no_moment() -> None:
    assert uuid7_ms(str(uuid.UUID(int=UUID7["rand_b"], version=4))) is None


def test_the_ids_of_a_season_are_its_own_moments_matches_davis_2024(season: Path) -> None:
    """Every id in the export is a UUIDv7 of the standard, and no two entries share one."""
    with (season / "events.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    ids = [row["event"] for row in rows]
    assert len(ids) == len(set(ids)) > 5000
    read = [uuid.UUID(text) for text in ids]
    assert {(one.version, one.variant) for one in read} == {(7, uuid.RFC_4122)}
    assert [str(one) for one in read] == ids
