"""The log only grows: nothing in it changes, nothing comes twice, and what is not understood is kept as it came."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from peewee import IntegrityError

from boxside.core.values.errors import StoreError
from boxside.core.values.event import Event, Json, event_digest
from boxside.store import Store, reading, saving
from boxside.store.rebuild import rebuild, state_digest
from tests.store.logs import BOXES, content, file_of, filled, open_log, save


@pytest.mark.parametrize(
    "statement", ["UPDATE event SET note = 'x'", "DELETE FROM event", "DELETE FROM event WHERE row = 1"]
)
def test_no_event_is_changed_or_deleted(statement: str, tmp_path: Path) -> None:
    filled(tmp_path)
    store = open_log(tmp_path)
    before = content(store)
    with pytest.raises(IntegrityError, match=r"events are never (changed|deleted)"):
        store.run(statement)
    with pytest.raises(StoreError, match="Not saved: events are never"), saving(store):
        store.run(statement)
    assert content(store) == before
    store.close()


def test_not_even_another_program_changes_an_event(tmp_path: Path) -> None:
    filled(tmp_path)
    with sqlite3.connect(file_of(tmp_path)) as other, pytest.raises(sqlite3.IntegrityError, match="never changed"):
        other.execute("UPDATE event SET at_ms = 0 WHERE row = 2")
    other.close()


def test_the_same_event_again_changes_nothing(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    before = content(store)
    for event in keeper.logged:
        with saving(store) as log:
            assert not log.append(event)
    assert content(store) == before
    store.close()


def test_an_id_with_other_content_is_refused_and_takes_the_whole_save_back(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    before = content(store)
    forged = replace(keeper.logged[-1], fields={"n": 12})
    fine = keeper.event("fed", ("box", BOXES[0]), 50, {})
    with pytest.raises(StoreError, match=f"{forged.id} is in the log with other content. Nothing was changed"):
        save_together(store, fine, forged)
    assert content(store) == before
    save(store, fine)
    store.close()


def test_a_number_of_a_device_is_given_once(tmp_path: Path) -> None:
    """Whoever saves here counts on; what comes from a copy of this device may repeat a number, and is taken."""
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    with saving(store) as log:
        assert log.next_seq("phone") == keeper.n + 1
        assert log.next_seq("another phone") == 1
    save(store, replace(keeper.event("fed", ("box", BOXES[0]), 50, {}), seq=1))
    assert len(store.rows("SELECT id FROM event WHERE device = 'phone' AND seq = 1")) == 2
    with saving(store) as log:
        assert log.next_seq("phone") == keeper.n
    store.close()


def save_together(store: Store, *events: Event) -> None:
    """Save events in one transaction."""
    with saving(store) as log:
        for event in events:
            log.append(event)


ODD: dict[str, Json] = {
    "text": "weiß, \"quoted\", 'single'\r\n\ttab \u2028 line \U0001f41b",
    "empty": "",
    "big": 2**53,
    "small": -0.000125,
    "truth": [True, False, [None, {"deep": {"er": [1, 2.5, "x"]}}]],
}


def test_a_kind_of_a_newer_app_comes_out_as_it_came(tmp_path: Path) -> None:
    """Kept opaque: its fields, its note and its digest are byte for byte what was written, also after a rebuild."""
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    before = content(store)
    odd = replace(keeper.event("from_a_newer_app", ("terrarium", "T1"), 50, dict(ODD)), note="ein Vermerk", by="Alex")
    save(store, odd)
    (kept,) = store.rows("SELECT fields, digest FROM event WHERE id = ?", (odd.id,))
    back = reading.event(store, odd.id)
    assert back == odd
    assert kept[1] == event_digest(odd)
    assert [event for event, _ in reading.stream(store, odd.at_ms, odd.at_ms + 1)] == [odd]
    after = content(store)
    changed = {table for table in after if after[table] != before[table]}
    assert changed == {"event", "touch", "latest"}, "it moves no animals and sets nothing"
    digest = state_digest(store)
    with saving(store):
        rebuild(store)
    assert state_digest(store) == digest
    other = open_log(tmp_path / "other")
    save(other, back)
    assert other.rows("SELECT fields, digest FROM event") == [kept]
    other.close()
    store.close()


def test_an_unknown_kind_can_be_taken_back(tmp_path: Path) -> None:
    keeper = filled(tmp_path)
    store = open_log(tmp_path)
    odd = keeper.event("from_a_newer_app", ("box", BOXES[0]), 50, {"x": 1})
    before = content(store)["latest"]
    save(store, odd, keeper.event("void", ("box", BOXES[0]), 51, {}, voids=odd.id))
    standing = reading.struck(store, odd.id)
    assert standing is not None
    assert standing.why == "voided"
    assert [row for row in content(store)["latest"] if row[2] != "void"] == [row for row in before if row[2] != "void"]
    store.close()
