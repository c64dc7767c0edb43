"""Reads `shared/` into core values and refuses, with file, key and reason, what does not fit."""
