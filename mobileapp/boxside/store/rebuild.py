"""All state thrown away and derived again from the log, and the digest that proves it the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator

from boxside.core.ledger import Fold, standings
from boxside.core.values.event import Event
from boxside.core.values.ledger import PRESENT, Line
from boxside.store.connection import Store
from boxside.store.entities import refresh_entity
from boxside.store.filing import filed
from boxside.store.ledger import INSERT_FLAG, INSERT_POSTING, UPSERT_BALANCE, balance_key, posting_row
from boxside.store.rows import EVENT_COLUMNS, PREFIXED_COLUMNS, event_of
from boxside.store.standing import write
from boxside.store.touches import INSERT_TOUCH, touch_rows

DERIVED = ("struck", "touch", "posting", "balance", "flag", "latest", "entity", "due", "due_box")
_DIGESTED = (
    ("struck", "SELECT * FROM struck ORDER BY event_id"),
    ("touch", "SELECT * FROM touch ORDER BY subject_type, subject_id, visit_ms, phase, at_ms, event_id"),
    ("posting", "SELECT * FROM posting ORDER BY box, visit_ms, phase, at_ms, event_id, nth"),
    ("balance", "SELECT * FROM balance WHERE n <> 0 ORDER BY box, cohort, stage, instar, sex, account"),
    ("flag", "SELECT * FROM flag ORDER BY event_id, flag"),
    ("latest", "SELECT * FROM latest ORDER BY subject_type, subject_id, kind, key"),
    ("entity", "SELECT * FROM entity ORDER BY type, id"),
)
_PAGE = 2000


def rebuild(store: Store) -> None:
    """Derive all state again from the log; call it inside a transaction."""
    for table in DERIVED:
        store.run(f"DELETE FROM {table}")
    _file(store)
    for event_id, why in standings(_linked(store)).items():
        write(store, event_id, why)
    _fold(store)
    _set(store)


def state_digest(store: Store) -> str:
    """Return the sha256 over all derived rows in canonical order; the cache of due tasks is left out."""
    whole = hashlib.sha256()
    for table, sql in _DIGESTED:
        whole.update(table.encode())
        for row in store.database.execute_sql(sql):
            whole.update(json.dumps(row, separators=(",", ":"), ensure_ascii=False).encode("utf-8", "surrogatepass"))
    return whole.hexdigest()


def events_after(store: Store, first_row: int) -> Iterator[Event]:
    """Yield the events of the log that were written after a row, in the order of their writing."""
    last = first_row
    while True:
        sql = f"SELECT row, {EVENT_COLUMNS} FROM event WHERE row > ? ORDER BY row LIMIT {_PAGE}"
        page = store.rows(sql, (last,))
        for row in page:
            yield event_of(row[1:])
        if len(page) < _PAGE:
            return
        last = page[-1][0]


def _file(store: Store) -> None:
    """File every event under its subjects."""
    rows: list[tuple[object, ...]] = []
    for event in events_after(store, 0):
        rows.extend(touch_rows(filed(event, store.vocabulary)))
        if len(rows) >= _PAGE:
            store.run_many(INSERT_TOUCH, rows)
            rows.clear()
    store.run_many(INSERT_TOUCH, rows)


def _linked(store: Store) -> list[Event]:
    """Return the events that void or replace others, and those that they name."""
    sql = f"SELECT {EVENT_COLUMNS} FROM event WHERE voids IS NOT NULL OR replaces IS NOT NULL"
    found = {event.id: event for event in (event_of(row) for row in store.rows(sql))}
    for event in list(found.values()):
        named = event.voids or event.replaces
        sql = f"SELECT {EVENT_COLUMNS} FROM event WHERE id = ?"
        if named not in found and (row := store.row(sql, (named,))):
            found[str(named)] = event_of(row)
    return list(found.values())


def _fold(store: Store) -> None:
    """Fold all standing ledger events in the order of history."""
    boxes: dict[str, dict[Line, int]] = {}
    postings: list[tuple[object, ...]] = []
    sums: dict[tuple[object, ...], int] = {}
    for event in _in_order(store):
        entry = filed(event, store.vocabulary)
        lines = {line: n for box in entry.boxes for line, n in boxes.get(box, {}).items()}
        folded = Fold.of(event, entry.kind, lines)
        for nth, posting in enumerate(folded.postings):
            postings.append(posting_row(entry.place, nth, posting))
            key = balance_key(posting)
            sums[key] = sums.get(key, 0) + posting.delta
            if posting.account == PRESENT:
                there = boxes.setdefault(posting.line.box, {})
                there[posting.line] = there.get(posting.line, 0) + posting.delta
        for flag in folded.flags:
            store.run(INSERT_FLAG, (event.id, flag))
        if len(postings) >= _PAGE:
            store.run_many(INSERT_POSTING, postings)
            postings.clear()
    store.run_many(INSERT_POSTING, postings)
    store.run_many(UPSERT_BALANCE, [(*row, n) for row, n in sums.items()])


def _in_order(store: Store) -> Iterator[Event]:
    """Yield the standing ledger events in the order of history, a page at a time."""
    since: tuple[object, ...] = (-(1 << 62), -1, 0, "")
    sql = f"""
    SELECT DISTINCT t.visit_ms, t.phase, t.at_ms, t.event_id, {PREFIXED_COLUMNS}
    FROM rebuild_order t JOIN event e ON e.id = t.event_id
    WHERE (t.visit_ms, t.phase, t.at_ms, t.event_id) > (?, ?, ?, ?)
    ORDER BY t.visit_ms, t.phase, t.at_ms, t.event_id LIMIT {_PAGE}
    """
    store.run(
        "CREATE TEMP TABLE rebuild_order (visit_ms, phase, at_ms, event_id, "
        "PRIMARY KEY (visit_ms, phase, at_ms, event_id)) WITHOUT ROWID"
    )
    store.run(
        "INSERT OR IGNORE INTO rebuild_order SELECT visit_ms, phase, at_ms, event_id FROM touch WHERE ledger = 1 "
        "AND event_id NOT IN (SELECT event_id FROM struck)"
    )
    while True:
        page = store.rows(sql, since)
        for row in page:
            yield event_of(row[4:])
        if len(page) < _PAGE:
            break
        since = page[-1][:4]
    store.run("DROP TABLE rebuild_order")


def _set(store: Store) -> None:
    """Work out the newest of each kind, and boxes, cohorts, areas and settings."""
    store.run(
        "INSERT INTO latest SELECT subject_type, subject_id, kind, key, visit_ms, phase, at_ms, event_id FROM ("
        " SELECT *, row_number() OVER (PARTITION BY subject_type, subject_id, kind, key"
        "  ORDER BY visit_ms DESC, phase DESC, at_ms DESC, event_id DESC) AS nth FROM touch"
        "  WHERE event_id NOT IN (SELECT event_id FROM struck) AND kind <> 'void') WHERE nth = 1"
    )
    setting = {name: kind for name, kind in store.vocabulary.kinds.items() if kind.sets}
    marks = ", ".join("?" * len(setting))
    sql = f"""
    SELECT {PREFIXED_COLUMNS} FROM event e JOIN latest l ON l.event_id = e.id AND l.kind = e.kind
    AND l.subject_type = e.subject_type AND l.subject_id = e.subject_id WHERE e.kind IN ({marks})
    """
    for row in store.rows(sql, tuple(setting)):
        entry = filed(event_of(row), store.vocabulary)
        refresh_entity(store, entry, setting[entry.event.kind])
