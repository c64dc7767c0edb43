"""What does not ask for history does not read it: each question of a round goes through an index."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from boxside.actions import list_due, show_box, show_shelf, void_event
from boxside.actions.dues import refresh
from boxside.store import Store, reading
from tests.actions.keeping import Keeper
from tests.store.logs import filled, open_log

# Tables that grow with every entry; all others are as large as the shelf.
GROWING = ("event", "touch", "posting", "struck", "flag")
# Whether anything was ever logged: the first row answers.
FIRST_ROW = re.compile(r"^SELECT 1 FROM event LIMIT 1$")


@contextmanager
def asked(store: Store) -> Iterator[list[str]]:
    """Collect the statements that are run."""
    statements: list[str] = []
    store.database.connection().set_trace_callback(statements.append)
    yield statements
    store.database.connection().set_trace_callback(None)


def searches(store: Store, sql: str) -> list[str]:
    """Return which growing tables a statement reads from end to end, or sorts whole."""
    names = dict.fromkeys(GROWING, "")
    for table in GROWING:
        for alias in re.findall(rf"\b{table}\s+(?:AS\s+)?([a-z]{{1,2}})\b", sql):
            names[alias] = table
    plan = [row[3] for row in store.rows(f"EXPLAIN QUERY PLAN {sql}")]
    return [step for step in plan if step.startswith("SCAN") and step.split()[1] in names]


def is_question(sql: str) -> bool:
    """Whether a statement reads or writes rows, and is not one that the first row answers."""
    return sql.split()[0] in ("SELECT", "UPDATE", "DELETE", "INSERT") and not FIRST_ROW.match(sql)


def look_at_the_shelf(keeper: Keeper) -> None:
    show_shelf.shelf_view(keeper.services)


def begin_a_round(keeper: Keeper) -> None:
    refresh(keeper.services)
    list_due.round_view(keeper.services)


def look_at_a_box(keeper: Keeper) -> None:
    show_box.box_view(keeper.services, keeper.id("B01"))


def feed(keeper: Keeper) -> None:
    keeper.log("B01", "fed")


def count(keeper: Keeper) -> None:
    keeper.log("B01", "count", n=3)


def feed_and_take_back(keeper: Keeper) -> None:
    void_event.void_event(keeper.services, keeper.log("B01", "fed").event_id)


def undo(keeper: Keeper) -> None:
    void_event.undo_last(keeper.services)


ACTS: list[Callable[[Keeper], None]] = [
    look_at_the_shelf, begin_a_round, look_at_a_box, feed, count, feed_and_take_back, undo,
]  # fmt: skip


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.__name__)
def test_nothing_on_a_round_reads_the_whole_log(act: Callable[[Keeper], None], demo: Keeper) -> None:
    store = demo.services.store
    with asked(store) as statements:
        act(demo)
    questions = [sql for sql in statements if is_question(sql)]
    assert questions
    found = {sql: found for sql in questions if (found := searches(store, sql))}
    assert found == {}


def test_an_export_follows_the_index_on_time_and_sorts_nothing(tmp_path: Path) -> None:
    """Sorting would hold the whole log in memory."""
    filled(tmp_path)
    store = open_log(tmp_path)
    with asked(store) as statements:
        assert len(list(reading.stream(store, 0, 1 << 53))) == 13
        assert len(list(reading.postings(store, 0, 1 << 53))) > 8
    for sql in statements:
        plan = [row[3] for row in store.rows(f"EXPLAIN QUERY PLAN {sql}")]
        assert plan[0].startswith("SEARCH e USING")
        assert "event_at" in plan[0]
        assert not any("TEMP B-TREE FOR ORDER BY" in step for step in plan), plan
    store.close()


def test_a_search_would_be_noticed(tmp_path: Path) -> None:
    """The control."""
    filled(tmp_path)
    store = open_log(tmp_path)
    assert searches(store, "SELECT count(*) FROM event e WHERE e.note = 'x'")
    assert searches(store, "SELECT sum(delta) FROM posting")
    assert not searches(store, "SELECT * FROM event WHERE id = 'x'")
    store.close()
