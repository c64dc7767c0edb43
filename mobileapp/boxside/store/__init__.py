"""The log on disk: SQLite through Peewee, append-only, with the state that follows from it."""

from boxside.store.connection import DamagedError, Store, open_store
from boxside.store.saving import Saving, cached, reading_at_once, saving, trying

__all__ = ["DamagedError", "Saving", "Store", "cached", "open_store", "reading_at_once", "saving", "trying"]
