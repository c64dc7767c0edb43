"""The shelf: every box at a glance, most pressing first."""

from __future__ import annotations

from datetime import date

from boxside.actions.context import today
from boxside.actions.dues import all_tasks, due_on
from boxside.actions.services import Services
from boxside.actions.wording import day_text, is_about, who_text
from boxside.core.care import is_late, task_label, when, why
from boxside.core.values.due import Due
from boxside.core.values.views import ShelfRow, ShelfView
from boxside.store import reading
from boxside.store.reading import Entity


def shelf_view(services: Services, search: str = "", offset: int = 0, limit: int = 50) -> ShelfView:
    """Return the open boxes whose code holds what is searched for, most pressing first."""
    day = today(services)
    tasks = due_on(services, day)
    order = {box: place for place, box in enumerate(tasks)}
    found = [box for box in reading.open_boxes(services.store) if search.upper() in box.shown.upper()]
    found.sort(key=lambda box: (order.get(box.id, len(order)), box.label, box.id))
    page = found[offset : offset + limit]
    lines = reading.lines(services.store, [box.id for box in page])
    coming: dict[str, Due] = {}
    for due in all_tasks(services):
        coming[due.box] = min(due, coming.get(due.box, due), key=lambda one: (one.on, one.task))
    rows = [
        _row(box, who_text(lines[box.id], is_about(services, box.id)), tasks.get(box.id, []), coming.get(box.id), day)
        for box in page
    ]
    return ShelfView(tuple(rows), len(found), offset, search)


def _row(box: Entity, who: str, tasks: list[Due], coming: Due | None, day: date) -> ShelfRow:
    if tasks:
        first = tasks[0]
        more = f" +{len(tasks) - 1}" if len(tasks) > 1 else ""
        due = f"{task_label(first.task)}{more}"
        return ShelfRow(box.id, box.shown, who, f"{due}: {when(first, day).lower()}", why(first, day),
                        is_late(first, day), True)  # fmt: skip
    due = f"{task_label(coming.task)} on {day_text(coming.on, day)}" if coming else "Nothing planned"
    return ShelfRow(box.id, box.shown, who, due, "")
