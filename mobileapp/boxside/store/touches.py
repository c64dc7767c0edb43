"""Which subjects an event concerns, in the order of history; and the newest of each kind."""

from __future__ import annotations

from collections.abc import Iterator

from boxside.store.connection import Store
from boxside.store.filing import Filed

INSERT_TOUCH = "INSERT OR IGNORE INTO touch VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
UPSERT_LATEST = """
INSERT INTO latest VALUES (?, ?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (subject_type, subject_id, kind, key) DO UPDATE SET visit_ms = excluded.visit_ms,
  phase = excluded.phase, at_ms = excluded.at_ms, event_id = excluded.event_id
WHERE (excluded.visit_ms, excluded.phase, excluded.at_ms, excluded.event_id)
    > (latest.visit_ms, latest.phase, latest.at_ms, latest.event_id)
"""
_NEWEST = """
SELECT t.visit_ms, t.phase, t.at_ms, t.event_id FROM touch t
WHERE t.subject_type = ? AND t.subject_id = ? AND t.kind = ? AND t.key = ?
  AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id)
ORDER BY t.visit_ms DESC, t.phase DESC, t.at_ms DESC, t.event_id DESC LIMIT 1
"""


def touch_rows(entry: Filed) -> Iterator[tuple[object, ...]]:
    """Yield the rows that file an event under each of its subjects."""
    kind, name = entry.kind, entry.event.kind
    moves = int(kind is not None and bool(kind.moves or kind.census))
    for subject_type, subject_id in entry.subjects:
        ledger = moves if subject_type == "box" else 0
        yield (subject_type, subject_id, *entry.place, name, entry.key, ledger)


def refresh_latest(store: Store, entry: Filed, counts: bool) -> None:
    """Bring the newest of each kind up to date after an event began or ceased to count."""
    for subject in entry.subjects:
        what = (*subject, entry.event.kind, entry.key)
        if counts:
            store.run(UPSERT_LATEST, (*what, *entry.place))
            continue
        where = "subject_type = ? AND subject_id = ? AND kind = ? AND key = ?"
        gone = store.run(f"DELETE FROM latest WHERE {where} AND event_id = ?", (*what, entry.event.id))
        if gone and (newest := store.row(_NEWEST, what)):
            store.run(UPSERT_LATEST, (*what, *newest))
