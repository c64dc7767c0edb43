"""The log on disk: SQLite through Peewee, append-only, with the state that follows from it."""

from boxside.store.connection import Store, open_store
from boxside.store.saving import Saving, cached, saving

__all__ = ["Saving", "Store", "cached", "open_store", "saving"]
