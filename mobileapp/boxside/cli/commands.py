"""All commands by name."""

from __future__ import annotations

from boxside.cli import (
    ahead_commands,
    app_commands,
    box_commands,
    carry_commands,
    keeping_commands,
    label_commands,
    line_commands,
    log_commands,
    photo_commands,
)
from boxside.cli.options import Command

COMMANDS: dict[str, Command] = {
    "due": log_commands.DUE,
    "log": log_commands.LOG,
    "undo": log_commands.UNDO,
    "add": box_commands.ADD,
    "season": carry_commands.SEASON,
    "import": carry_commands.IMPORT,
    "gather": carry_commands.GATHER,
    "rebuild": box_commands.REBUILD,
    "archive": keeping_commands.ARCHIVE,
    "restore": keeping_commands.RESTORE,
    "merge": keeping_commands.MERGE,
    "check": keeping_commands.CHECK,
    "repair": keeping_commands.REPAIR,
    "ahead": ahead_commands.AHEAD,
    "away": ahead_commands.AWAY,
    "temperatures": ahead_commands.TEMPERATURES,
    "line": line_commands.LINE,
    "pairings": line_commands.PAIRINGS,
    "dusk": line_commands.DUSK,
    "founders": line_commands.FOUNDERS,
    "parents": line_commands.PARENTS,
    "card": photo_commands.CARD,
    "measure": photo_commands.MEASURE,
    "growth": photo_commands.GROWTH,
    "labels": label_commands.LABELS,
    "nudge": app_commands.NUDGE,
    "open": app_commands.OPEN,
    "demo": app_commands.DEMO,
}
