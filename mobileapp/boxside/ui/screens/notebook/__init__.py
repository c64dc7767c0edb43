"""Notebook: old records from a table, column by column."""
