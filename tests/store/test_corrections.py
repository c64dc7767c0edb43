"""Taking back and correcting: voids in any order, chains, two corrections of one entry, and the way back."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from boxside.core.values.event import Event
from boxside.store import Store, reading
from tests.store.logs import BOXES, COHORTS, HERD, content, open_log, save
from tests.torture.deeds import Keeper

BOX = ("box", BOXES[0])


@dataclass
class Shelf:
    """One box with forty larvae, whose log each test writes."""

    store: Store
    keeper: Keeper

    def died(self, n: int, **links: str) -> Event:
        """Return an entry of `n` deaths."""
        return self.keeper.event("died", BOX, 10, {"n": n}, **links)

    def void(self, target: str) -> Event:
        """Return an entry that takes another back."""
        return self.keeper.event("void", BOX, 20, {}, voids=target)

    def dead(self) -> int:
        """Return how many deaths are booked."""
        return sum(n for _, account, n in reading.balances(self.store) if account == "dead")

    def present(self) -> int:
        """Return how many animals are expected in the box."""
        return sum(n for _, n in reading.lines(self.store, [BOXES[0]])[BOXES[0]])

    def standing(self, event: Event) -> str:
        """Return why an entry does not count, empty where it does."""
        found = reading.struck(self.store, event.id)
        return found.why if found else ""


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Shelf]:
    """A shelf that is closed afterwards."""
    keeper = Keeper(random.Random(5))
    store = open_log(tmp_path)
    save(store, keeper.event("stocked", BOX, 0, {"cohort": COHORTS[0], "n": HERD, "stage": "larva"}))
    yield Shelf(store, keeper)
    store.close()


def test_a_void_may_come_before_what_it_takes_back(shelf: Shelf) -> None:
    death = shelf.died(4)
    save(shelf.store, shelf.void(death.id))
    before = content(shelf.store)
    save(shelf.store, death)
    assert shelf.dead() == 0
    assert shelf.standing(death) == "voided"
    after = content(shelf.store)
    assert after["posting"] == before["posting"]
    assert after["latest"] == before["latest"]


def test_a_void_is_final(shelf: Shelf) -> None:
    death = shelf.died(4)
    first, second = shelf.void(death.id), shelf.void(death.id)
    save(shelf.store, death, first, second, shelf.void(first.id))
    assert shelf.dead() == 0
    assert shelf.standing(death) == "voided"


def test_each_correction_of_a_chain_takes_the_place_of_the_one_before(shelf: Shelf) -> None:
    chain = [shelf.died(1)]
    save(shelf.store, chain[0])
    for n in (2, 3, 4):
        chain.append(shelf.died(n, replaces=chain[-1].id))
        save(shelf.store, chain[-1])
        assert shelf.dead() == n
    assert [shelf.standing(event) for event in chain] == ["replaced", "replaced", "replaced", ""]
    assert len(reading.history(shelf.store, *BOX, 9)) == 5, "the whole chain stays visible"


def test_taking_back_the_last_correction_lets_the_one_before_count_again(shelf: Shelf) -> None:
    chain = [shelf.died(1)]
    for n in (2, 3):
        chain.append(shelf.died(n, replaces=chain[-1].id))
    save(shelf.store, *chain)
    expected = [2, 1, 0]
    for event, dead in zip(reversed(chain), expected, strict=True):
        save(shelf.store, shelf.void(event.id))
        assert shelf.dead() == dead
        assert shelf.present() == HERD - dead


def test_taking_back_the_first_takes_back_all_that_was_built_on_it(shelf: Shelf) -> None:
    first = shelf.died(1)
    second = shelf.died(2, replaces=first.id)
    third = shelf.died(3, replaces=second.id)
    save(shelf.store, first, second, third, shelf.void(first.id))
    assert shelf.dead() == 0
    assert [shelf.standing(event) for event in (first, second, third)] == ["voided", "voided", "voided"]


@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_of_two_corrections_the_one_logged_later_counts_and_the_other_stays_visible(
    order: tuple[int, ...], shelf: Shelf
) -> None:
    wrong = shelf.died(1)
    late = replace(shelf.died(3, replaces=wrong.id), logged_ms=2000)
    early = replace(shelf.died(2, replaces=wrong.id), logged_ms=1000)
    events = (wrong, early, late)
    save(shelf.store, *(events[nth] for nth in order))
    assert shelf.dead() == 3
    assert [shelf.standing(event) for event in events] == ["replaced", "outdone", ""]
    assert {event.id for event, _ in reading.history(shelf.store, *BOX, 9)} >= {event.id for event in events}
    save(shelf.store, shelf.void(late.id))
    assert shelf.dead() == 2, "the other correction counts once the later one is taken back"
    assert shelf.standing(early) == ""


def test_of_two_corrections_logged_in_one_millisecond_the_greater_id_counts(shelf: Shelf) -> None:
    wrong = shelf.died(1)
    a, b = (replace(shelf.died(n, replaces=wrong.id), logged_ms=1000) for n in (2, 3))
    save(shelf.store, wrong, b, a)
    assert a.id < b.id
    assert shelf.dead() == 3
    assert shelf.standing(a) == "outdone"


def test_a_correction_may_come_before_what_it_corrects(shelf: Shelf) -> None:
    wrong = shelf.died(1)
    right = shelf.died(5, replaces=wrong.id)
    save(shelf.store, right)
    assert shelf.dead() == 5
    save(shelf.store, wrong)
    assert shelf.dead() == 5
    assert shelf.standing(wrong) == "replaced"


def test_a_correction_may_change_the_kind_and_the_box(shelf: Shelf) -> None:
    """A death that was an escape from another box: the count that followed there has it to explain."""
    other = ("box", BOXES[1])
    keeper = shelf.keeper
    wrong = shelf.died(2)
    save(
        shelf.store,
        keeper.event("stocked", other, 0, {"cohort": COHORTS[0], "n": 10, "stage": "larva"}),
        wrong,
        keeper.event("count", other, 15, {"n": 6, "complete": True}),
    )
    assert lost(shelf.store) == 4
    save(shelf.store, keeper.event("escaped", other, 10, {"n": 3}, replaces=wrong.id))
    assert shelf.dead() == 0
    assert shelf.present() == HERD
    assert lost(shelf.store) == 1


def lost(store: Store) -> int:
    """Return how many animals are unaccounted for."""
    return sum(n for _, account, n in reading.balances(store) if account == "unaccounted")
