"""Every kind that moves or counts animals does what its worked examples say; every other kind moves nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from boxside.catalog.catalog import Catalog
from boxside.core.ledger import Fold, fold_all, totals
from boxside.core.values.event import Event
from boxside.core.values.ids import uuid7
from boxside.core.values.ledger import PRESENT, Line
from boxside.core.values.stages import Stage
from boxside.core.values.vocabulary import Field, FieldType, Kind
from tests.core.ledger.worked import EXAMPLES, SEXES, Example, Step, here

START_MS = 1_780_000_000_000


def event_of(step: Step, kind: Kind, nth: int) -> Event:
    """An entry of its own visit, an hour after the one before."""
    name, subject, fields = step
    at_ms = START_MS + nth * 3_600_000
    subject_type = "box" if "box" in kind.subjects else kind.subjects[0]
    return Event(
        id=uuid7(at_ms, nth, nth), kind=name, subject_type=subject_type, subject_id=subject, visit=uuid7(at_ms, 0, nth),
        at_ms=at_ms, offset_min=120, tz="Europe/Berlin", logged_ms=at_ms, device="d1", seq=nth, fields=fields,
    )  # fmt: skip


def log_of(steps: tuple[Step, ...], catalog: Catalog) -> list[Event]:
    return [event_of(step, catalog.vocabulary.kinds[step[0]], nth) for nth, step in enumerate(steps, 1)]


def balances_of(written: dict[str, int]) -> dict[tuple[Line, str], int]:
    found = {}
    for text, n in written.items():
        words = text.split()
        account = words.pop().removeprefix("@") if words[-1].startswith("@") else PRESENT
        box, cohort, stage, instar, sex = words
        found[Line(box, cohort, Stage(stage), int(instar), SEXES[sex]), account] = n
    return found


@pytest.mark.parametrize("shown", EXAMPLES, ids=lambda one: f"{one.kind}: {one.name}")
def test_the_balances_are_those_worked_out_by_hand(shown: Example, catalog: Catalog) -> None:
    log = log_of(shown.log, catalog)
    ledger = fold_all(log, catalog.vocabulary)
    assert dict(ledger.balances) == balances_of(shown.after)
    assert fold_all(reversed(log), catalog.vocabulary) == ledger
    for folded in ledger.folded.values():
        assert sum(posting.delta for posting in folded.postings) == 0
    assert totals(ledger.balances).holds


@pytest.mark.parametrize("shown", EXAMPLES, ids=lambda one: f"{one.kind}: {one.name}")
def test_an_example_is_whole(shown: Example, catalog: Catalog) -> None:
    """The hand's own sums: each fits the identity, and each field of the example is one that its kind has."""
    assert sum(shown.after.values()) == 0
    for name, _, fields in shown.log:
        kind = catalog.vocabulary.kinds[name]
        assert [field for field in fields if kind.field(field) is None] == []


def test_every_kind_that_moves_or_counts_has_an_example_that_changes_something(catalog: Catalog) -> None:
    kinds = catalog.vocabulary.kinds.values()
    shown = {one.kind for one in EXAMPLES}
    assert shown == {kind.name for kind in kinds if kind.moves or kind.census}
    moving = set()
    for one in EXAMPLES:
        log = log_of(one.log, catalog)
        if fold_all(log, catalog.vocabulary).folded[log[-1].id].postings:
            moving.add(one.kind)
    assert moving == shown


def filled(field: Field) -> object:
    """Something that a field could say, as strong as it can be for the headcount."""
    if field.type is FieldType.CHOICE:
        return field.choices[0]
    said: dict[FieldType, object] = {
        FieldType.INTEGER: int(max(1, field.minimum or 0)),
        FieldType.NUMBER: max(1.0, field.minimum or 0.0),
        FieldType.BOOLEAN: True,
        FieldType.BOX: "b2",
        FieldType.COHORT: "c1",
        FieldType.PARTS: [{"from_box": "b1", "cohort": "c1", "stage": "larva", "n": 2}],
        FieldType.ROWS: [{"length_mm": 12.0}],
        FieldType.DATE: "2026-06-01",
    }
    return said.get(field.type, "b1")


def other_kinds(catalog: Catalog) -> list[Kind]:
    return [kind for kind in catalog.vocabulary.kinds.values() if not (kind.moves or kind.census)]


def test_every_other_kind_moves_nothing_whatever_it_says(catalog: Catalog) -> None:
    there = (here("b1 c1 larva 5 ?", 6), here("b1 c1 adult 0 f", 2), here("b2 c2 egg 0 ?", 30))
    log = log_of(there, catalog)
    before = fold_all(log, catalog.vocabulary).balances
    present = {line: n for (line, account), n in before.items() if account == PRESENT}
    kinds = other_kinds(catalog)
    assert len(kinds) > 25
    for kind in kinds:
        said: dict[str, Any] = {field.name: filled(field) for field in kind.fields}
        for subject_type in kind.subjects:
            event = event_of((kind.name, "b1", {"n": 3, "box": "b1", **said}), kind, 9)
            event = replace(event, subject_type=subject_type)
            folded = Fold.of(event, kind, present)
            assert (folded.postings, folded.flags) == ((), ()), kind.name
            assert fold_all([*log, event], catalog.vocabulary).balances == before, kind.name


def test_a_kind_that_only_a_newer_app_knows_moves_nothing(catalog: Catalog) -> None:
    log = log_of((here("b1 c1 larva 5 ?", 6),), catalog)
    strange = replace(log[0], id=uuid7(START_MS, 99, 99), kind="teleported", fields={"n": 4, "to_box": "b2"})
    assert fold_all([*log, strange], catalog.vocabulary).balances == fold_all(log, catalog.vocabulary).balances


def test_a_void_takes_back_all_that_its_target_moved(catalog: Catalog) -> None:
    log = log_of((here("b1 c1 larva 5 ?", 6), ("died", "b1", {"n": 2})), catalog)
    void = replace(log[1], id=uuid7(START_MS, 98, 98), kind="void", fields={}, voids=log[1].id)
    assert dict(fold_all([*log, void], catalog.vocabulary).balances) == balances_of(
        {"b1 c1 larva 5 ?": 6, "b1 c1 larva 5 ? @founders": -6}
    )
