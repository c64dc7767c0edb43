"""The vocabulary: what is declared holds together, and what does not is refused by name."""

from __future__ import annotations

from pathlib import Path

import pytest

from boxside.catalog.catalog import Catalog
from boxside.catalog.events import read_vocabulary
from boxside.core.care import TASKS
from boxside.core.values.errors import DataError
from boxside.core.values.vocabulary import FieldType, Kind, Witness

GOOD = """
[kinds.poked]
label = "Poke"
said = "Poked"
group = "seen"
subjects = ["box"]
stages = ["larva"]
[kinds.poked.fields]
n = { type = "integer", label = "How many", min = 1 }
"""


def kinds(catalog: Catalog) -> list[Kind]:
    return list(catalog.vocabulary.kinds.values())


def test_a_kind_closes_only_tasks_that_there_are(catalog: Catalog) -> None:
    unknown = {(kind.name, task) for kind in kinds(catalog) for task in kind.closes if task not in TASKS}
    assert unknown == set()


def test_every_task_can_be_closed_by_some_kind_or_ends_by_itself(catalog: Catalog) -> None:
    closed = {task for kind in kinds(catalog) for task in kind.closes}
    assert set(TASKS) - closed == {"check_prey_batch", "look_for_escape"}


def test_one_tap_needs_nothing_said(catalog: Catalog) -> None:
    for kind in kinds(catalog):
        if kind.one_tap:
            assert not [field.name for field in kind.fields if field.required], kind.name


def test_defaults_lie_within_their_bounds_and_choices(catalog: Catalog) -> None:
    for kind in kinds(catalog):
        for field in kind.fields:
            where = f"{kind.name}.{field.name}"
            if field.type is FieldType.CHOICE and field.default is not None:
                assert field.default in field.choices, where
            # A number of the profile has the bounds that the profile itself gives it.
            if field.type in (FieldType.INTEGER, FieldType.NUMBER) and where != "profile_edited.value":
                assert field.minimum is not None, where
                low, high = field.minimum, field.maximum
                assert high is None or low <= high, where
                assert field.default is None or low <= float(str(field.default)), where
            assert not (field.required and field.default is not None), where


def test_a_feeding_never_assumes_what_was_not_said(catalog: Catalog) -> None:
    assert [field.default for field in catalog.vocabulary.kinds["fed"].fields] == [None, None, None]


def test_animals_come_and_go_only_by_declared_moves(catalog: Catalog) -> None:
    """Who moves animals: this list is the ledger's whole door to the outside."""
    to_outside = {
        kind.name
        for kind in kinds(catalog)
        if any("account" in side for move in kind.moves for side in (move.source, move.target))
    }
    assert to_outside == {
        "died", "cannibalism", "failed_moult", "escaped", "found_again", "given_away", "laid", "unhatched", "stocked",
        "cohort_started",
    }  # fmt: skip
    assert {kind.name for kind in kinds(catalog) if kind.census} == {"count", "confirmed_empty", "seen", "box_retired"}


def test_a_feeding_is_no_census(catalog: Catalog) -> None:
    """Feeding proves nobody alive; a count proves all, a moult some."""
    known = catalog.vocabulary.kinds
    assert known["fed"].witness is Witness.NONE
    assert known["moulted"].witness is Witness.SOME_ALIVE
    assert known["count"].witness is Witness.ALL_COUNTED


def test_removals_come_before_moves_and_counts_after_them(catalog: Catalog) -> None:
    known = catalog.vocabulary.kinds
    assert [known[name].phase for name in ("died", "transfer", "fed", "count", "confirmed_empty")] == [0, 1, 1, 2, 2]


def test_labels_tell_the_kinds_apart(catalog: Catalog) -> None:
    for part in ("label", "said"):
        texts = [getattr(kind, part) for kind in kinds(catalog)]
        assert len(texts) == len(set(texts)), part


def test_a_new_kind_needs_no_python(tmp_path: Path) -> None:
    (tmp_path / "events.toml").write_text(GOOD, encoding="utf-8")
    kind = read_vocabulary(tmp_path / "events.toml").kinds["poked"]
    assert (kind.label, kind.stages, kind.witness) == ("Poke", ("larva",), Witness.NONE)
    assert [(field.name, field.minimum, field.required) for field in kind.fields] == [("n", 1, False)]


@pytest.mark.parametrize(
    ("old", "new", "key", "why"),
    [
        ('label = "Poke"', "", "poked.label", "needs a text"),
        ('said = "Poked"', 'said = ""', "poked.said", "needs a text"),
        ('subjects = ["box"]', 'subjects = ["shelf"]', "poked", "'shelf' is none of box"),
        ('stages = ["larva"]', 'stages = ["worm"]', "poked", "'worm' is none of egg"),
        ('group = "seen"', 'group = "seen"\ncloze = ["feed"]', "poked.cloze", "misspelt"),
        ('group = "seen"', 'group = "seen"\nwitness = "hearsay"', "poked", "'hearsay' is none of"),
        ('group = "seen"', 'group = "seen"\nlatest_by = "x"', "poked", "latest_by names x"),
        ('group = "seen"', 'group = "seen"\nmoves = [{ n = "m", to = {} }]', "poked", "reads the field m"),
        ('group = "seen"', 'group = "seen"\nmoves = [{ to = {} }]', "poked", "n is missing"),
        ('group = "seen"', 'group = "seen"\nmoves = [{ n = "n", to = { bx = "x" } }]', "poked.to.bx", "misspelt"),
        ('group = "seen"', 'group = "seen"\ncensus = { n = "m", complete = true }', "poked", "reads the field m"),
        ('type = "integer"', 'type = "intejer"', "poked.n", "'intejer' is none of"),
        ('type = "integer"', 'type = "choice"', "poked.n", "a choice has choices"),
        ("min = 1", 'min = 1, choices = ["a"]', "poked.n", "a choice has choices"),
        ("min = 1", "minimum = 1", "poked.n.minimum", "misspelt"),
        (GOOD, "", "kinds", "no kinds of events"),
        (GOOD, "[kinds", "", "is not valid TOML"),
    ],
)
def test_faults_are_refused_with_file_key_and_reason(tmp_path: Path, old: str, new: str, key: str, why: str) -> None:
    path = tmp_path / "events.toml"
    assert old in GOOD
    path.write_text(GOOD.replace(old, new), encoding="utf-8")
    with pytest.raises(DataError, match=why) as caught:
        read_vocabulary(path)
    assert (caught.value.path, caught.value.key) == (str(path), key)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="cannot be read"):
        read_vocabulary(tmp_path / "none.toml")
