"""The exported table of events read back: what comes back, and what is said of what does not."""

from __future__ import annotations

import pytest

from boxside.core.tables import EventCells, Form, csv_line, csv_text, form_of, numbered_events, spreadsheet_text
from boxside.core.values.ids import uuid7

HEADER = (
    "event", "kind", "subject_type", "subject", "code", "at", "zone", "day", "visit", "logged_at", "device", "seq",
    "by", "note", "voids", "replaces", "standing", "fields",
)  # fmt: skip
ID, BOX, VISIT, DEVICE = (uuid7(1_700_000_000_000 + n, n, n) for n in range(4))
ROW = {
    "event": ID, "kind": "fed", "subject_type": "box", "subject": BOX, "code": "B07",
    "at": "2026-05-03T20:00:00.123+02:00", "zone": "Europe/Berlin", "day": "2026-05-03", "visit": VISIT,
    "logged_at": "2026-05-03T18:00:00.500+00:00", "device": DEVICE, "seq": "7", "by": "", "note": "two\nlines, =1+1",
    "voids": "", "replaces": "", "standing": "counts", "fields": '{"amount":2,"prey":"garden snail"}',
}  # fmt: skip
SAID = {
    "id": ID, "kind": "fed", "subject_type": "box", "subject_id": BOX, "visit": VISIT, "at_ms": 1_777_831_200_123,
    "offset_min": 120, "tz": "Europe/Berlin", "logged_ms": 1_777_831_200_500, "device": DEVICE, "seq": 7,
    "fields": {"amount": 2, "prey": "garden snail"}, "note": "two\nlines, =1+1",
}  # fmt: skip
EVENT = EventCells(SAID, ROW["fields"])
MACHINE = Form(",", "")


def lines(*rows: dict[str, str]) -> list[str]:
    text = "".join(csv_text([HEADER, *([row[name] for name in HEADER] for row in rows)]))
    return text.splitlines(keepends=True)


def test_a_record_is_the_event_to_the_millisecond() -> None:
    assert list(numbered_events(lines(ROW), MACHINE)) == [(2, EVENT)]


@pytest.mark.parametrize("decimal", [".", ","])
def test_the_table_for_a_spreadsheet_is_the_same_event(decimal: str) -> None:
    rows = [HEADER, [ROW[name] for name in HEADER]]
    text = "".join(spreadsheet_text(rows, ["string"] * len(HEADER), decimal))
    form = form_of(text.partition("\r\n")[0])
    assert form is not None
    assert [event for _, event in numbered_events(text.splitlines(keepends=True), form)] == [EVENT]


def test_the_form_is_told_by_the_first_line() -> None:
    assert form_of(csv_line(HEADER)) == MACHINE
    assert form_of("\ufeff" + csv_line(HEADER)) == Form(",", ".")
    assert form_of(csv_line(HEADER).replace(",", ";")) == Form(";", ",")
    assert form_of("date,box,what\r\n") is None
    assert form_of("") is None


@pytest.mark.parametrize(
    ("column", "text", "reason"),
    [
        ("event", "", "event is empty."),
        ("device", "", "device is empty."),
        ("at", "yesterday", "at: 'yesterday' is no moment like 2026-05-03T18:30:00.000+02:00."),
        ("at", "2026-05-03T20:00:00", "at: '2026-05-03T20:00:00' has no offset in whole minutes."),
        ("logged_at", "", "logged_at: '' is no moment like 2026-05-03T18:30:00.000+02:00."),
        ("day", "2026-05-04", "day is '2026-05-04', and at says 2026-05-03."),
        ("seq", "-1", "seq: '-1' is no whole number."),
        ("seq", "1e3", "seq: '1e3' is no whole number."),
        ("fields", "[1]", "fields: is no JSON object."),
        ("fields", '{"x":1e999}', "fields: is no JSON (a number is too large)."),
        ("fields", '{"n":NaN}', "fields: is no JSON (NaN is no number)."),
    ],
)
def test_what_is_wrong_is_said_with_its_line(column: str, text: str, reason: str) -> None:
    """The note takes two lines, so that the third record begins on line 6."""
    found = dict(numbered_events(lines(ROW, ROW, {**ROW, column: text}), MACHINE))
    assert found == {2: EVENT, 4: EVENT, 6: reason}


def test_a_record_too_short_and_a_text_that_ends_within_quotes_are_told() -> None:
    cut = [*lines(ROW), "a,b\r\n", *lines(ROW)[1:2]]
    found = list(numbered_events(cut, MACHINE))
    assert found[1] == (4, "It has 2 cells instead of 18.")
    line, reason = found[2]
    assert (line, str(reason).startswith("It is no CSV from here on")) == (5, True)


def test_nested_beyond_all_measure_is_a_reason_and_no_crash() -> None:
    deep = '{"a":' + "[" * 100_000 + "]" * 100_000 + "}"
    ((_, reason),) = numbered_events(lines({**ROW, "fields": deep}), MACHINE)
    assert isinstance(reason, str)
