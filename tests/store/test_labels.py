"""Two boxes under one code, as two phones can bring: both stay, and the later one shows a number behind it."""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import pytest

from boxside.core.values.event import Event
from boxside.store import Store, reading, saving
from boxside.store.rebuild import rebuild
from tests.store.logs import BOXES, open_log, save
from tests.torture.deeds import Keeper


def shown(store: Store) -> list[str]:
    """Return what the open boxes show, in the order of their ids."""
    return [box.shown for box in sorted(reading.open_boxes(store), key=lambda box: box.id)]


def three(keeper: Keeper) -> list[Event]:
    """Return three boxes that are called B07."""
    return [keeper.event("box_made", ("box", box), 1, {"label": "B07"}) for box in BOXES[:3]]


@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_a_clash_shows_b07_and_b07_2_whatever_came_first(order: tuple[int, ...], tmp_path: Path) -> None:
    events = three(Keeper(random.Random(1)))
    store = open_log(tmp_path)
    save(store, *(events[nth] for nth in order))
    assert shown(store) == ["B07", "B07·2", "B07·3"]
    assert [box.label for box in reading.boxes_labelled(store, "b07")] == ["B07", "B07", "B07"]
    assert [box.id for box in reading.boxes_labelled(store, "B07·2")] == [BOXES[1]]
    with saving(store):
        rebuild(store)
    assert shown(store) == ["B07", "B07·2", "B07·3"]
    store.close()


def test_a_new_code_or_a_retired_box_ends_the_clash(tmp_path: Path) -> None:
    keeper = Keeper(random.Random(1))
    store = open_log(tmp_path)
    save(store, *three(keeper))
    save(store, keeper.event("box_changed", ("box", BOXES[0]), 2, {"label": "B08"}))
    assert shown(store) == ["B08", "B07", "B07·2"]
    retired = keeper.event("box_retired", ("box", BOXES[1]), 3, {"retired": True})
    save(store, retired)
    assert shown(store) == ["B08", "B07"]
    save(store, keeper.event("void", ("box", BOXES[1]), 4, {}, voids=retired.id))
    assert shown(store) == ["B08", "B07", "B07·2"]
    store.close()
