"""A save is all or nothing: whichever statement fails, the log is as before or as after, never between."""

from __future__ import annotations

import copy
import shutil
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest

from boxside.core.values.errors import BoxsideError, StoreError
from boxside.store import Store
from boxside.store.photos import keep
from tests.store.faults import Fuse, statements_through
from tests.store.logs import BOXES, COHORTS, content, content_of, filled, open_log, save
from tests.torture.deeds import Keeper

Act = Callable[[Store, Keeper, Path], None]


def log_feeding(store: Store, keeper: Keeper, folder: Path) -> None:
    save(store, keeper.event("fed", ("box", BOXES[1]), 40, {"amount": 3}))


def log_deaths(store: Store, keeper: Keeper, folder: Path) -> None:
    save(store, keeper.event("died", ("box", BOXES[1]), 40, {"n": 2}))


def log_late_transfer(store: Store, keeper: Keeper, folder: Path) -> None:
    """The count that follows has to explain five animals fewer."""
    save(store, keeper.event("transfer", ("box", BOXES[0]), 10, {"to_box": BOXES[2], "n": 5}))


def make_box(store: Store, keeper: Keeper, folder: Path) -> None:
    """Its code is taken, so that another box is shown under another one."""
    save(store, keeper.event("box_made", ("box", COHORTS[0]), 40, {"label": "B2"}))


def void(store: Store, keeper: Keeper, folder: Path) -> None:
    taken_back = next(event for event in keeper.logged if event.kind == "count")
    save(store, keeper.event("void", ("box", BOXES[0]), 41, {}, voids=taken_back.id))


def correct(store: Store, keeper: Keeper, folder: Path) -> None:
    """The correction moves a death to another box."""
    wrong = keeper.logged[-1]
    assert wrong.replaces
    save(store, keeper.event("died", ("box", BOXES[3]), 42, {"n": 1}, replaces=wrong.id))


def keep_photo(store: Store, keeper: Keeper, folder: Path) -> None:
    save(store, keeper.event("photo", ("box", BOXES[1]), 43, {"sha256": keep(folder, b"a photo")}))


ACTS: list[Act] = [log_feeding, log_deaths, log_late_transfer, make_box, void, correct, keep_photo]


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.__name__)
def test_a_save_that_fails_at_any_statement_changes_nothing(act: Act, tmp_path: Path) -> None:
    keeper = filled(tmp_path / "log")
    before = content_of(tmp_path / "log")
    for at in count(1):
        folder = tmp_path / f"at-{at}"
        shutil.copytree(tmp_path / "log", folder)
        fuse = Fuse()
        with statements_through(fuse):
            store = open_log(folder)
        fuse.arm(at)
        said = ""
        try:
            act(store, copy.deepcopy(keeper), folder)
        except StoreError as error:
            said = str(error)
        is_blown = fuse.take_out()
        assert all((words in said) is is_blown for words in ("Not saved", "What was logged before is safe"))
        assert (content(store) == before) is is_blown
        store.close()
        assert (content_of(folder) == before) is is_blown
        if not is_blown:
            assert at > 6, "BEGIN, the event, its subjects, its state, COMMIT: fewer cannot be"
            return
        again = open_log(folder)
        act(again, copy.deepcopy(keeper), folder)
        again.close()
    raise AssertionError("the fuse blew for ever")


def test_a_migration_that_fails_at_any_statement_leaves_no_half_schema(tmp_path: Path) -> None:
    for at in count(1):
        folder = tmp_path / f"at-{at}"
        fuse = Fuse()
        fuse.arm(at)
        said = ""
        with statements_through(fuse):
            try:
                opened = open_log(folder)
            except BoxsideError as error:
                said = str(error)
            else:
                said = opened.why_read_only
                opened.close()
        is_blown = fuse.take_out()
        assert any(words in said for words in ("Nothing was changed", "cannot be written now")) is is_blown
        store = open_log(folder)
        tables = {row[0] for row in store.rows("SELECT name FROM sqlite_master WHERE type = 'table'")}
        assert {"event", "touch", "posting", "due"} <= tables
        assert content(store)["event"] == []
        store.close()
        if not is_blown:
            assert at > 20, "a schema of twenty statements at least"
            return
    raise AssertionError("the fuse blew for ever")
