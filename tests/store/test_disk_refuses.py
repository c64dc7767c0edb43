"""A disk that refuses at any moment of a save or a checkpoint: saved or not saved, never in doubt, and one goes on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from boxside.store import Store, saving
from boxside.store.merging import merge
from tests.store.logs import BOXES, VOCABULARY, save
from tests.torture.deeds import MINUTE_MS, START_MS, Keeper
from tests.torture.refusals import FULL, IO, refuse_each


def feed(store: Store, keeper: Keeper) -> None:
    save(store, keeper.event("fed", ("box", BOXES[0]), 90, {"amount": 1}))


def late_transfer(store: Store, keeper: Keeper) -> None:
    save(store, keeper.event("transfer", ("box", BOXES[0]), 5, {"to_box": BOXES[1], "n": 3}))


def take_back(store: Store, keeper: Keeper) -> None:
    target = next(event for event in keeper.logged if event.kind == "stocked")
    save(store, keeper.event("void", ("box", BOXES[0]), 91, {}, voids=target.id))


def take_in(store: Store, keeper: Keeper) -> None:
    """Merge what another phone has, some of it long past."""
    theirs = [keeper.of_another(keeper.n + START_MS // MINUTE_MS) for _ in range(5)]
    with saving(store):
        merge(store, theirs)


@pytest.mark.parametrize("stays", [False, True], ids=["once", "from then on"])
@pytest.mark.parametrize("error", [FULL, IO], ids=["full", "io"])
@pytest.mark.parametrize("act", [feed, late_transfer, take_back], ids=lambda act: act.__name__)
def test_a_save_is_saved_or_said_not_to_be(
    act: Callable[[Store, Keeper], None], error: type[Exception], stays: bool, tmp_path: Path
) -> None:
    found = list(refuse_each(tmp_path / "log", VOCABULARY, act, error, stays))
    assert len(found) > 5
    for one in found:
        assert one.was_saved == one.is_there, one
        assert one.was_saved or ("Not saved" in one.said and "safe" in one.said), one
        assert one.goes_on, one
    assert not any(one.was_saved for one in found), "every operation of a save is needed for it"


def test_a_merge_is_taken_in_whole_or_said_not_to_be(tmp_path: Path) -> None:
    found = list(refuse_each(tmp_path / "log", VOCABULARY, take_in, FULL, stays=False))
    assert len(found) > 5
    for one in found:
        assert not one.was_saved, one
        assert not one.is_there, one
        assert "Not saved" in one.said, one
        assert one.goes_on, one


@pytest.mark.parametrize("error", [FULL, IO], ids=["full", "io"])
def test_a_checkpoint_that_is_refused_loses_nothing_and_says_so_by_its_result(
    error: type[Exception], tmp_path: Path
) -> None:
    def save_and_checkpoint(store: Store, keeper: Keeper) -> None:
        feed(store, keeper)
        results.append(store.checkpoint())

    results: list[bool] = []
    found = list(refuse_each(tmp_path / "log", VOCABULARY, save_and_checkpoint, error, stays=False))
    assert all(one.was_saved == one.is_there for one in found), found
    assert all(one.goes_on for one in found), found
    assert any(one.was_saved for one in found), "the save was safe when the checkpoint failed"
    assert results.count(False) == sum(one.was_saved for one in found)
