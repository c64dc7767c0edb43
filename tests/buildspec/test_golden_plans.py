"""The golden plans: made by Boxside as they stand, and done alike by the receiver in Python and in Java."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from buildspec import golden, java
from buildspec.golden_stories import STORIES
from buildspec.receiver import Receiver

SCHEMA = json.loads((golden.FOLDER.parent / "nudge-plan.schema.json").read_text(encoding="utf-8"))


def stored(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((golden.FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize("name", STORIES)
def test_stored_plans_are_what_boxside_makes(name: str) -> None:
    """Otherwise: `python -m buildspec.golden`, and look at what has changed."""
    assert (golden.FOLDER / f"{name}.json").read_text(encoding="utf-8") == golden.file_text(STORIES[name])
    for plan in stored(name)["plans"]:
        jsonschema.validate(plan, SCHEMA, cls=jsonschema.Draft202012Validator)


def test_no_story_is_stored_that_is_not_told() -> None:
    assert {path.stem for path in golden.FOLDER.glob("*.json")} == set(STORIES)


@pytest.mark.parametrize("name", STORIES)
def test_the_receiver_in_python_does_as_expected(name: str) -> None:
    assert list(golden.differences(stored(name), Receiver())) == []


def test_the_receiver_in_java_does_as_expected(classes: Path) -> None:
    with java.phone(classes) as phone:
        for name in STORIES:
            assert list(golden.differences(stored(name), phone)) == [], name


@pytest.mark.parametrize("name", STORIES)
def test_a_wrong_expectation_is_seen(name: str) -> None:
    """The control: a story that expects one post more differs."""
    told = copy.deepcopy(stored(name))
    told["steps"][-1]["expect"]["post"].append("2030-01-01.1")
    assert len(list(golden.differences(told, Receiver()))) == 1
