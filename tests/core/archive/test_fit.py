"""Whether an event fits its kind: all that the keeper's own app writes does, and no wrong type slips through."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boxside.catalog.catalog import Catalog
from boxside.core.archive import misfit
from boxside.core.values.event import Event, Json
from boxside.core.values.vocabulary import FieldType, Vocabulary

EVENT = Event("e1", "count", "box", "b1", "v1", 1, 0, "UTC", 1, "d1", 1, {"n": 3, "complete": True})
WRONG: dict[FieldType, tuple[Json, ...]] = {
    FieldType.INTEGER: ("3", 1.5, True, [], 10**15),
    FieldType.NUMBER: ("3", False, {}, 1e300),
    FieldType.TEXT: (3, [], True),
    FieldType.CHOICE: ("none of these", 1),
    FieldType.BOOLEAN: ("yes", 1),
    FieldType.DATE: ("yesterday", 20260503, 3),
    FieldType.BOX: (1, ["b"]),
    FieldType.COHORT: (1, {}),
    FieldType.AREA: (1.5,),
    FieldType.EVENT: (1,),
    FieldType.PARTS: ("x", [1], {"a": 1}, [{"n": [1]}], [{"n": "3"}]),
    FieldType.ROWS: ("x", [None], [{"length_mm": "long"}], [{"length_mm": 1e300}]),
}


def with_field(event: Event, kind: str, name: str, value: Json, subject: str) -> Event:
    return replace(event, kind=kind, subject_type=subject, fields={name: value})


def test_every_field_of_every_kind_refuses_values_of_another_type(catalog: Catalog) -> None:
    n = 0
    for kind in catalog.vocabulary.kinds.values():
        for field in kind.fields:
            for value in WRONG[field.type]:
                found = misfit(with_field(EVENT, kind.name, field.name, value, kind.subjects[0]), catalog.vocabulary)
                assert found.startswith(f"{field.name} of {kind.name}: "), (kind.name, field.name, value)
                n += 1
    assert n > 200


def test_ranges_and_subjects_are_held(catalog: Catalog) -> None:
    vocabulary: Vocabulary = catalog.vocabulary
    assert misfit(EVENT, vocabulary) == ""
    assert "is not between" in misfit(replace(EVENT, fields={"n": -1}), vocabulary)
    assert "not logged at a colony" in misfit(replace(EVENT, subject_type="colony"), vocabulary)


@pytest.mark.parametrize(
    "event",
    [
        replace(EVENT, kind="from_a_newer_app", subject_type="moon", fields={"odd": [1, {"x": None}]}),
        replace(EVENT, fields={"n": 3, "from_a_newer_app": {"deep": [1]}}),
        replace(EVENT, fields={"n": None}),
    ],
)
def test_what_a_newer_app_adds_fits(catalog: Catalog, event: Event) -> None:
    assert misfit(event, catalog.vocabulary) == ""
