"""The laws of merging, over random histories of two and three phones: set union by id, whatever the order."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

import hypothesis.strategies as st
from hypothesis import HealthCheck, given, settings

from boxside.core.ledger import fold_all
from boxside.core.values.event import Event
from boxside.store import Store, catching_up, reading, saving, trying
from boxside.store.merging import merge
from boxside.store.rebuild import rebuild, state_digest
from tests.store.phones import Phones, events_in, histories, opened, take_in, twisted
from tests.store.test_history_laws import VOCABULARY
from tests.torture.onto import synchronous

WAYS = st.sampled_from([0.0, 1e9])
quick = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))


@contextmanager
def desk(share: float) -> Iterator[Path]:
    """A folder for logs; `share` decides whether a merge follows each event or derives all again."""
    follow = mock.patch.object(catching_up, "_MOST_SHARE", share)
    with tempfile.TemporaryDirectory() as folder, synchronous(0), follow:
        yield Path(folder)


def merged(folder: Path, *logs: tuple[Event, ...]) -> Store:
    """Return a log into which the others were merged, one after the other, and the first of them twice."""
    store = opened(folder, logs[0])
    for log in (*logs[1:], logs[-1]):
        take_in(store, sorted(log, key=lambda event: event.id))
    return store


def held(store: Store) -> tuple[list[Event], str]:
    found = events_in(store), state_digest(store)
    store.close()
    return found


@given(histories(2), WAYS)
@quick
def test_two_phones_that_exchange_hold_the_same(phones: Phones, share: float) -> None:
    ours, theirs = phones.logs
    with desk(share) as folder:
        one = held(merged(folder / "1", ours, theirs))
        other = held(merged(folder / "2", theirs, ours))
    assert one == other
    assert {event.id: event for event in one[0]} == phones.all


@given(histories(3), WAYS)
@quick
def test_it_does_not_matter_who_merges_first(phones: Phones, share: float) -> None:
    a, b, c = phones.logs
    with desk(share) as folder:
        left = held(merged(folder / "1", a, b, c))
        pair = merged(folder / "2", c, b)
        both = tuple(events_in(pair))
        pair.close()
        right = held(merged(folder / "3", a, both))
    assert left == right
    assert {event.id: event for event in left[0]} == phones.all


@given(histories(3), WAYS)
@quick
def test_a_merge_is_what_the_whole_set_gives_and_a_second_one_changes_nothing(phones: Phones, share: float) -> None:
    with desk(share) as folder:
        store = merged(folder / "1", *phones.logs)
        before = state_digest(store)
        again = take_in(store, list(phones.all.values()))
        assert (again.n_new, again.n_known) == (0, len(phones.all))
        assert state_digest(store) == before
        ledger = fold_all(phones.all.values(), VOCABULARY)
        assert {(line, account): n for line, account, n in reading.balances(store)} == dict(ledger.balances)
        with saving(store):
            rebuild(store)
        assert state_digest(store) == before
        store.close()


@given(histories(2), WAYS)
@quick
def test_an_id_that_stands_for_something_else_is_named_on_both_sides(phones: Phones, share: float) -> None:
    ours = phones.logs[0] or phones.logs[1]
    theirs = {event.id: event for event in phones.logs[1]}
    theirs[ours[0].id] = twisted(ours[0])
    with desk(share) as folder:
        for name, log, other in (("1", ours, theirs.values()), ("2", tuple(theirs.values()), ours)):
            store = opened(folder / name, log)
            before = events_in(store), state_digest(store)
            with trying(store):
                found = merge(store, list(other))
            assert (found.n_clashes, found.clashes) == (1, [ours[0].id])
            assert (events_in(store), state_digest(store)) == before
            store.close()


def test_a_union_that_forgets_an_event_is_seen() -> None:
    """The control: one event fewer on one side, and the comparison says so."""
    event = Event("e1", "box_made", "box", "b", "v", 1, 0, "UTC", 1, "d", 1, {"label": "B1"})
    other = Event("e2", "box_made", "box", "c", "v", 1, 0, "UTC", 1, "d", 1, {"label": "B1"})
    with desk(0.0) as folder:
        whole, short = merged(folder / "1", (event,), (other,)), merged(folder / "2", (event,), ())
        assert reading.entity(whole, "box", "c").shown == "B1·2"  # type: ignore[union-attr]
        assert held(whole) != held(short)
