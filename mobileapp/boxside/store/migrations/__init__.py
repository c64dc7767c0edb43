"""Numbered steps of the schema; each runs in one transaction together with the note that it ran."""

from boxside.store.migrations.m0001_start import up as start
from boxside.store.migrations.m0002_numbers_of_many import up as numbers_of_many

STEPS = (start, numbers_of_many)

__all__ = ["STEPS"]
