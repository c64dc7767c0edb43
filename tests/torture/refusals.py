"""A disk that refuses: the n-th write, sync or truncation fails, once or from then on."""

from __future__ import annotations

import copy
import itertools
import random
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import count, islice
from pathlib import Path

import apsw

from boxside.core.values.errors import StoreError
from boxside.core.values.event import Event
from boxside.core.values.vocabulary import Vocabulary
from boxside.store import Store, open_store, saving
from boxside.store.connection import FILE_NAME
from tests.torture.deeds import Keeper, held
from tests.torture.disk import Disk
from tests.torture.onto import checkpoints_after, open_on

Act = Callable[[Store, Keeper], None]
FULL, IO = apsw.FullError, apsw.IOError
_number = itertools.count()


@dataclass(frozen=True, slots=True)
class Refusal:
    """What came of an act while the disk refused: was it said to be saved, was it there, could one go on?"""

    at: int
    what: str
    said: str
    was_saved: bool
    is_there: bool
    goes_on: bool


def refuse_each(
    folder: Path, vocabulary: Vocabulary, act: Act, error: type[Exception], stays: bool
) -> Iterator[Refusal]:
    """Yield what came of an act for each of its disk operations that fails; `stays` lets all later ones fail too."""
    keeper = Keeper(random.Random(7))
    store = open_store(folder / "log", vocabulary)
    with saving(store) as log:
        for event in islice(keeper.deeds(), 24):
            log.append(event)
            keeper.logged.append(event)
    store.close()
    for at in count(1):
        shutil.copytree(folder / "log", folder / str(at))
        refuser = _Refuser(at, stays, error)
        with checkpoints_after(1):
            refusal = _one(folder / str(at), vocabulary, act, copy.deepcopy(keeper), refuser)
        if not refuser.refused:
            return
        yield replace(refusal, at=at, what=refuser.refused)


@dataclass(slots=True)
class _Refuser:
    """Refuses the `at`-th operation, and all that follow if it `stays`."""

    at: int
    stays: bool
    error: type[Exception]
    n: int = 0
    refused: str = ""

    def __call__(self, number: int, what: str) -> None:
        if what == f"truncate {FILE_NAME}-wal":
            # SQLite goes on where it cannot cut the write-ahead file back; apsw would not let it.
            return
        self.n += 1
        if self.n == self.at or (self.stays and self.n > self.at):
            self.refused = self.refused or what
            raise self.error("the disk refuses")


def _one(folder: Path, vocabulary: Vocabulary, act: Act, keeper: Keeper, refuser: _Refuser) -> Refusal:
    disk = Disk(f"refusing-{next(_number)}")
    try:
        store = open_on(disk, folder, vocabulary)
        keeper.work(store, 3, _nothing, begin=False)
        before = held(store)
        disk.on_op = refuser
        said = _try(act, store, keeper)
        disk.on_op = None
        is_there = held(store) != before
        goes_on = not _try(lambda store, keeper: keeper.work(store, 3, _nothing, begin=False), store, keeper)
        after = held(store)
        store.close()
        restarted = open_store(folder, vocabulary)
        goes_on = goes_on and held(restarted) == after
        restarted.close()
        return Refusal(0, "", said, not said, is_there, goes_on)
    finally:
        disk.unregister()


def _nothing(event: Event) -> None:
    """Be told of a save."""


def _try(act: Act, store: Store, keeper: Keeper) -> str:
    """Return what the keeper was told, empty where all went well."""
    try:
        act(store, keeper)
    except StoreError as error:
        return str(error)
    return ""
