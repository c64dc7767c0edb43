"""Boxside: a keeper's log for captive glow-worm colonies."""

__version__ = "0.1.0"
