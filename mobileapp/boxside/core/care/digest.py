"""What a nudge says: how many boxes, which, who lives there and why, young cohorts first."""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from boxside.core.care.dues import pressing, rank
from boxside.core.care.tasks import TASKS, task_label
from boxside.core.care.why import is_late, why
from boxside.core.values.due import Due
from boxside.core.values.nudge import BoxDues

_MAX_TITLE_BOXES = 3
_MAX_TASKS = 2
LAST_LINE = "Reminders end here: open Boxside to plan further."


@dataclass(frozen=True, slots=True)
class Content:
    """The words of a digest and the lid codes of the boxes in it, most pressing first."""

    title: str
    brief: str
    lines: tuple[str, ...]
    boxes: tuple[str, ...]
    n_boxes: int


def content(boxes: Sequence[BoxDues], day: date, max_lines: int, repeat: bool, at_dusk: bool) -> Content | None:
    """Return what a digest of a day says; None where nothing is due, so that nothing is posted.

    Parameters
    ----------
    boxes : the boxes with all their tasks
    max_lines : boxes that get a line of their own; the rest are counted
    repeat : a further slot of the day, which only repeats what is late
    at_dusk : the last slot of the day, which also has what belongs to the dusk
    """
    due = [(box, _due_of(box, day, repeat, at_dusk)) for box in boxes]
    due = [(box, tasks) for box, tasks in due if tasks]
    if not due:
        return None
    shown = max(max_lines, _MAX_TITLE_BOXES)
    first = heapq.nsmallest(shown, due, key=lambda one: min(pressing(task, day) for task in one[1]))
    lines = [_line(box, rank(tasks, day), day) for box, tasks in first[:max_lines]]
    if len(due) > max_lines:
        lines.append(f"and {len(due) - max_lines} more")
    brief = "1 box is due" if len(due) == 1 else f"{len(due)} boxes are due"
    labels = tuple(box.label for box, _ in first)
    return Content(_title(labels, len(due)), brief, tuple(lines), labels, len(due))


def _due_of(box: BoxDues, day: date, repeat: bool, at_dusk: bool) -> list[Due]:
    tasks = [due for due in box.dues if due.on <= day]
    if not repeat:
        return tasks
    return [due for due in tasks if is_late(due, day) or (at_dusk and _is_dusk(due))]


def _is_dusk(due: Due) -> bool:
    return due.task in TASKS and TASKS[due.task].at_dusk


def _title(labels: tuple[str, ...], n_boxes: int) -> str:
    named = labels[:_MAX_TITLE_BOXES]
    if n_boxes == 1:
        return f"{named[0]} is due"
    if n_boxes > len(named):
        return f"{', '.join(named)} and {n_boxes - len(named)} more are due"
    return f"{', '.join(named[:-1])} and {named[-1]} are due"


def _line(box: BoxDues, tasks: tuple[Due, ...], day: date) -> str:
    names = [task_label(due.task).lower() for due in tasks[:_MAX_TASKS]]
    if len(tasks) > _MAX_TASKS:
        names.append(f"{len(tasks) - _MAX_TASKS} more")
    who = f"{box.label}, {box.who}" if box.who else box.label
    return f"{who}: {', '.join(names)}. {why(tasks[0], day)}"
