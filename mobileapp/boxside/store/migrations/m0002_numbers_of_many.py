"""A device's numbers may repeat: where a phone's data was copied to another, both count on from the same one.

Such logs must still merge, since an event is known by its id alone.
"""

from __future__ import annotations

from peewee import SqliteDatabase


def up(database: SqliteDatabase) -> None:
    """Let two events have the same number of the same device."""
    database.execute_sql("DROP INDEX event_seq")
    database.execute_sql("CREATE INDEX event_seq ON event (device, seq)")
