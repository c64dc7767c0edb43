"""The first schema: the log, which nothing may change, and the tables that follow from it.

`event` holds what was logged and refuses updates and deletes. All other tables but `meta` can be
thrown away and rebuilt from it: `struck` (events that no longer count), `touch` (which subject an event
concerns, in the order of history), `posting` and `balance` (the ledger), `latest` (the newest standing
event of each kind a subject), `entity` (boxes, cohorts, areas, settings as they now are), `due` and
`due_box` (a cache of what is due).
"""

from __future__ import annotations

from peewee import SqliteDatabase

_TABLES = """
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;

CREATE TABLE event (
  row INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL,
  subject_type TEXT NOT NULL, subject_id TEXT NOT NULL, visit TEXT NOT NULL,
  at_ms INTEGER NOT NULL, offset_min INTEGER NOT NULL, tz TEXT NOT NULL,
  logged_ms INTEGER NOT NULL, device TEXT NOT NULL, seq INTEGER NOT NULL,
  fields TEXT NOT NULL, by_whom TEXT, note TEXT, voids TEXT, replaces TEXT, digest BLOB NOT NULL
);
CREATE INDEX event_voids ON event (voids) WHERE voids IS NOT NULL;
CREATE INDEX event_replaces ON event (replaces) WHERE replaces IS NOT NULL;
CREATE UNIQUE INDEX event_seq ON event (device, seq);
CREATE INDEX event_at ON event (at_ms, id);
CREATE INDEX event_photo ON event (json_extract(fields, '$.sha256')) WHERE kind = 'photo';
CREATE TRIGGER event_stays BEFORE UPDATE ON event
  BEGIN SELECT RAISE(ABORT, 'events are never changed'); END;
CREATE TRIGGER event_remains BEFORE DELETE ON event
  BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END;

CREATE TABLE struck (event_id TEXT PRIMARY KEY, why TEXT NOT NULL, by_event TEXT NOT NULL) WITHOUT ROWID;

CREATE TABLE touch (
  subject_type TEXT NOT NULL, subject_id TEXT NOT NULL,
  visit_ms INTEGER NOT NULL, phase INTEGER NOT NULL, at_ms INTEGER NOT NULL, event_id TEXT NOT NULL,
  kind TEXT NOT NULL, key TEXT NOT NULL, ledger INTEGER NOT NULL,
  PRIMARY KEY (subject_type, subject_id, visit_ms, phase, at_ms, event_id)
) WITHOUT ROWID;
CREATE INDEX touch_kind ON touch (subject_type, subject_id, kind, key, visit_ms, phase, at_ms, event_id);
CREATE INDEX touch_ledger ON touch (subject_id, visit_ms, phase, at_ms, event_id) WHERE ledger = 1;

CREATE TABLE posting (
  box TEXT NOT NULL, visit_ms INTEGER NOT NULL, phase INTEGER NOT NULL, at_ms INTEGER NOT NULL,
  event_id TEXT NOT NULL, nth INTEGER NOT NULL,
  cohort TEXT NOT NULL, stage TEXT NOT NULL, instar INTEGER NOT NULL, sex TEXT NOT NULL,
  account TEXT NOT NULL, delta INTEGER NOT NULL,
  PRIMARY KEY (box, visit_ms, phase, at_ms, event_id, nth)
) WITHOUT ROWID;
CREATE INDEX posting_event ON posting (event_id, nth);
CREATE INDEX posting_cohort ON posting (cohort, stage, account, visit_ms, phase, at_ms, event_id);

CREATE TABLE balance (
  box TEXT NOT NULL, cohort TEXT NOT NULL, stage TEXT NOT NULL, instar INTEGER NOT NULL,
  sex TEXT NOT NULL, account TEXT NOT NULL, n INTEGER NOT NULL,
  PRIMARY KEY (box, cohort, stage, instar, sex, account)
) WITHOUT ROWID;

CREATE TABLE flag (event_id TEXT NOT NULL, flag TEXT NOT NULL, PRIMARY KEY (event_id, flag)) WITHOUT ROWID;

CREATE TABLE latest (
  subject_type TEXT NOT NULL, subject_id TEXT NOT NULL, kind TEXT NOT NULL, key TEXT NOT NULL,
  visit_ms INTEGER NOT NULL, phase INTEGER NOT NULL, at_ms INTEGER NOT NULL, event_id TEXT NOT NULL,
  PRIMARY KEY (subject_type, subject_id, kind, key)
) WITHOUT ROWID;

CREATE INDEX latest_kind ON latest (kind, subject_type);

CREATE TABLE entity (
  type TEXT NOT NULL, id TEXT NOT NULL, label TEXT NOT NULL, shown TEXT NOT NULL,
  open INTEGER NOT NULL, data TEXT NOT NULL, PRIMARY KEY (type, id)
) WITHOUT ROWID;
CREATE INDEX entity_label ON entity (type, open, label, id);

CREATE TABLE due_box (box TEXT PRIMARY KEY, stamp TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE due (
  box TEXT NOT NULL, task TEXT NOT NULL, earliest TEXT NOT NULL, due_on TEXT NOT NULL,
  latest TEXT NOT NULL, urgency INTEGER NOT NULL, reasons TEXT NOT NULL, PRIMARY KEY (box, task)
) WITHOUT ROWID;
CREATE INDEX due_day ON due (due_on, box);
"""


def up(database: SqliteDatabase) -> None:
    """Make the tables."""
    for statement in _statements(_TABLES):
        database.execute_sql(statement)


def _statements(script: str) -> list[str]:
    """Return the statements of a script; a trigger's body keeps its own semicolons."""
    statements: list[str] = []
    for part in script.split(";\n"):
        if statements and statements[-1].lstrip().startswith("CREATE TRIGGER") and part.strip() == "END":
            statements[-1] += "; END"
        elif part.strip():
            statements.append(part.strip())
    return statements
