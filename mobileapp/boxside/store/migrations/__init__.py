"""Numbered steps of the schema; each runs in one transaction together with the note that it ran."""

from boxside.store.migrations.m0001_start import up as start

STEPS = (start,)

__all__ = ["STEPS"]
