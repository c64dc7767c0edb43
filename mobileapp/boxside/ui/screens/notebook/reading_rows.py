"""The first lines of a notebook as they would be logged."""

from __future__ import annotations

from boxside.core.values.carry import NotebookView
from boxside.ui.widgets.rows import RowData, head, paragraph
from boxside.ui.words import say


def preview_rows(width: float, view: NotebookView) -> list[RowData]:
    """Return the first lines as entries, each with its number in the file."""
    if not view.sample:
        return []
    rows = [head(width, say("first_lines"))]
    for line in view.sample:
        where = f"{say('line_n', n=line.line)}: {line.box}, {line.when}"
        rows.append(paragraph(width, " · ".join(part for part in (line.label, line.detail) if part), where, "dot"))
    return rows


__all__ = ["preview_rows"]
