"""What a keeper does through the app is all or nothing too, photo file and all, whichever statement fails."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import pytest
from peewee import PeeweeException
from PIL import Image

from boxside.actions import correct_event, keep_photo, void_event
from boxside.catalog.catalog import Catalog
from boxside.core.values.errors import BoxsideError
from boxside.store import reading
from tests.actions.keeping import Keeper, keeper_in
from tests.store.faults import Fuse, statements_through
from tests.store.logs import content_of


def log(keeper: Keeper, photo: Path) -> object:
    return keeper.log("B01", "died", n=2)


def void(keeper: Keeper, photo: Path) -> object:
    return void_event.void_event(keeper.services, last_of(keeper))


def correct(keeper: Keeper, photo: Path) -> object:
    return correct_event.correct_event(keeper.services, last_of(keeper), {"n": 3})


def photograph(keeper: Keeper, photo: Path) -> object:
    return keep_photo.keep_photo(keeper.services, keeper.id("B01"), str(photo))


def last_of(keeper: Keeper) -> str:
    (event, _), *_ = reading.history(keeper.services.store, "box", keeper.id("B01"), 1)
    return event.id


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of an act whose `at`-th statement failed: events added, all else unchanged, what was said."""

    at: int
    n_added: int
    is_as_before: bool
    said: str


@pytest.fixture(scope="module", params=[log, void, correct, photograph], ids=lambda act: act.__name__)
def outcomes(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, catalog: Catalog
) -> list[Outcome]:
    """One outcome for each statement of an act, the last one where none failed."""
    folder = tmp_path_factory.mktemp("acts")
    photo = folder / "photo.png"
    Image.new("RGB", (8, 8), "white").save(photo)
    keeper = keeper_in(folder / "log", catalog)
    keeper.add("B01", n=20)
    keeper.log("B01", "died", n=1)
    keeper.services.store.close()
    before = content_of(folder / "log")
    found: list[Outcome] = []
    for at in count(1):
        shutil.copytree(folder / "log", folder / "copy")
        fuse, said = Fuse(), ""
        with statements_through(fuse):
            keeper = keeper_in(folder / "copy", catalog)
        fuse.arm(at)
        try:
            request.param(keeper, photo)
        except (BoxsideError, PeeweeException) as error:
            said = str(error)
        is_blown = fuse.take_out()
        keeper.services.store.close()
        after = content_of(folder / "copy")
        found.append(Outcome(at, len(after["event"]) - len(before["event"]), after == before, said))
        shutil.rmtree(folder / "copy")
        if not is_blown:
            return found
    raise AssertionError("the fuse blew for ever")


def test_an_act_that_fails_at_any_statement_leaves_before_or_after(outcomes: list[Outcome]) -> None:
    assert all(one.is_as_before if one.n_added == 0 else one.n_added == 1 for one in outcomes)
    assert {one.n_added for one in outcomes} == {0, 1}
    assert outcomes[-1].said == ""
    assert outcomes[-1].n_added == 1


def test_what_was_saved_is_never_said_to_be_not_saved(outcomes: list[Outcome]) -> None:
    assert [one for one in outcomes if one.n_added and "Not saved" in one.said] == []
