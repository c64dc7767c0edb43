"""Events as lines of JSON: every event comes back as it was, and no line brings in what a log cannot keep."""

from __future__ import annotations

import json

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from boxside.core.archive import event_line, event_of_line
from boxside.core.values.event import Event, event_digest
from boxside.core.values.ids import uuid7

VISIT = uuid7(1_700_000_000_000, 1, 1)
GOOD = Event("e1", "note", "box", "b1", VISIT, 1_700_000_000_000, 60, "Europe/Berlin", 1_700_000_000_001, "d1", 1)

texts = st.text(st.characters(codec="utf-8"), max_size=30)
names = st.text(st.characters(codec="utf-8"), min_size=1, max_size=30)
numbers = st.integers(-(1 << 80), 1 << 80) | st.floats(allow_nan=False, allow_infinity=False)
values = st.recursive(
    st.none() | st.booleans() | numbers | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=6,
)
moments = st.integers(0, 4_000_000_000_000)
events = st.builds(
    Event, id=names, kind=names, subject_type=names, subject_id=names, visit=names | st.just(VISIT), at_ms=moments,
    offset_min=st.integers(-1439, 1439), tz=names, logged_ms=moments, device=names, seq=st.integers(0, 1 << 53),
    fields=st.dictionaries(texts, values.filter(lambda value: value is not None), max_size=4),
    by=st.none() | texts, note=st.none() | texts, voids=st.none() | names, replaces=st.none() | names,
)  # fmt: skip


@given(events)
@settings(max_examples=300, deadline=None)
def test_every_event_comes_back_as_it_was(event: Event) -> None:
    line = event_line(event).encode("utf-8")
    assert b"\n" not in line
    assert json.loads(line)["id"] == event.id
    back = event_of_line(line)
    assert back == event
    assert event_digest(back) == event_digest(event)
    assert event_line(back).encode() == line


def changed(**parts: object) -> bytes:
    said = {**json.loads(event_line(GOOD)), **parts}
    return json.dumps({name: value for name, value in said.items() if value is not ...}, allow_nan=True).encode()


def test_the_line_that_the_bad_ones_are_made_from_is_good() -> None:
    assert event_of_line(changed()) == GOOD


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b"", "not strict JSON"),
        (b"\xef\xbb\xbf" + event_line(GOOD).encode(), "not strict JSON"),
        (b"\xff\xfe", "not strict JSON"),
        (b"[1, 2]", "no JSON object"),
        (event_line(GOOD).encode()[:-5], "not strict JSON"),
        (changed(at_ms=float("nan")), "NaN is no number"),
        (changed(fields={"x": float("inf")}), "Infinity is no number"),
        (changed(fields={"x": 1}).replace(b": 1}", b": 1e999}"), "number is too large"),
        (changed(fields={"x": 1}).replace(b": 1}", b": " + b"9" * 5000 + b"}"), "not strict JSON"),
        (changed(note="\ud800"), "half of a character pair"),
        (changed(fields={"\udfff": 1}), "half of a character pair"),
        (changed(fields=0).replace(b": 0", b": " + b"[" * 100_000 + b"]" * 100_000), "nested too deeply"),
        (changed(fields={}).replace(b"{}", b'{"x":' * 80 + b"1" + b"}" * 80), "nested too deeply"),
        (changed(fields=[]), "'fields' is no JSON object"),
        (changed(at_ms="now"), "'at_ms' is no whole number"),
        (changed(at_ms=True), "'at_ms' is no whole number"),
        (changed(at_ms=1.0), "'at_ms' is no whole number"),
        (changed(at_ms=-1), "'at_ms' is no whole number"),
        (changed(at_ms=1 << 60), "'at_ms' is no whole number"),
        (changed(logged_ms=1 << 60), "'logged_ms' is no whole number"),
        (changed(offset_min=1440), "'offset_min' is no whole number"),
        (changed(visit=uuid7((1 << 48) - 1, 0, 0)), "beyond the year 9998"),
        (changed(id=""), "'id' is no text"),
        (changed(id=7), "'id' is no text"),
        (changed(kind="k" * 201), "'kind' is no text"),
        (changed(note=["x"]), "'note' is no text"),
        (changed(seq=...), "has no 'seq'"),
        (changed(digest="00"), "unknown entry 'digest'"),
        (changed(note="n" * 4_000_001), "longer than 4 MB"),
    ],
)  # fmt: skip
def test_a_line_that_is_no_event_is_refused_with_the_reason(line: bytes, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        event_of_line(line)
