"""The log on disk: SQLite through Peewee, append-only, with the state that follows from it."""

from boxside.store.connection import Store, open_store
from boxside.store.saving import Saving, saving

__all__ = ["Saving", "Store", "open_store", "saving"]
