"""Which boxes ate a batch of prey, and which refused it: for when something is wrong with it."""

from __future__ import annotations

from datetime import date
from typing import Any

from boxside.actions.wording import day_text
from boxside.core.values.ahead import BatchView
from boxside.ui.foretold import sum_rows
from boxside.ui.widgets.figures import part_row
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph
from boxside.ui.words import say, say_n


def tell_batch(shell: Any, view: BatchView, day: date) -> None:
    """Show the meals of a batch in order."""

    def make(width: float) -> list[RowData]:
        if not view.meals:
            return [paragraph(width, say("nobody_ate"))]
        suspect = [paragraph(width, say("suspect", who=", ".join(view.refusing)), icon="late")] if view.suspect else []
        boxes = paragraph(width, ", ".join(view.boxes), say_n("fed_to", len(view.boxes)))
        meals = [part_row(width, f"{day_text(on, day)}, {box}", amount) for on, box, amount in view.meals]
        unsaid = [paragraph(width, say_n("unsaid", view.n_unsaid), icon="info")] if view.n_unsaid else []
        total = [head(width, say("fed_sum")), *sum_rows(width, view.fed, day)] if view.fed.parts else []
        return [*suspect, boxes, *meals, *unsaid, *total]

    read(shell, say("batch_is", batch=view.batch), make)


__all__ = ["tell_batch"]
