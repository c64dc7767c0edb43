"""Heavy days made lighter: which tasks to do sooner or later so that the visits spread."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from boxside.actions.ahead import outlook_of
from boxside.actions.context import today
from boxside.actions.log_event import log_all
from boxside.actions.services import Services
from boxside.core.care import task_label
from boxside.core.planning import smoothed_load
from boxside.core.values.ahead import MovedTask, SmoothView
from boxside.core.values.due import Due
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft

DAYS = 14
# What takes time and can wait a day; looks, moisture and pairings stay where they are.
_CAN_MOVE = ("feed", "clean", "renew")


def smooth_view(services: Services, heavy_from: int = 0) -> SmoothView:
    """Return how the next two weeks' feeding and cleaning could be spread, each task within its own window.

    Parameters
    ----------
    heavy_from : only days with more tasks than this are relieved; 0 evens out all
    """
    day = today(services)
    now = outlook_of(services)
    # Two tasks of one box on one day are one visit, so they move together.
    tasks = _joined([due for due in now.dues if due.task in _CAN_MOVE and due.box in now.boxes])
    before = _counts([max(due.on, day) for due in tasks], day)
    smoothed = smoothed_load(tasks, day, DAYS, heavy_from)
    after = {load.on: len(load.tasks) for load in smoothed.days}
    moved = [
        MovedTask(
            move.due.box,
            now.boxes[move.due.box].shown,
            task,
            move.due.on,
            move.to_on,
            (move.to_on - move.due.on).days,
        )
        for move in smoothed.moved
        for task in move.due.task.split("+")
    ]
    return SmoothView(
        days=tuple((on, before.get(on, 0), after.get(on, 0)) for on in sorted(after)),
        moved=tuple(sorted(moved, key=lambda move: (move.to_on, move.label, move.task))),
    )


def put_off(services: Services, moved: tuple[MovedTask, ...]) -> tuple[str, ...]:
    """Log `later` for every task that moves to a later day; return the entries' ids.

    Sooner needs no entry: just do it.

    Raises
    ------
    EntryError : where none of them moves to a later day; nothing was saved
    """
    day = today(services)
    later = [move for move in moved if move.days > 0 and move.to_on > day]
    if not later:
        raise EntryError("None of these tasks moves to a later day. Nothing was saved.")
    drafts = [
        Draft("later", "box", move.box_id, {"task": move.task, "days": (move.to_on - day).days}) for move in later
    ]
    return tuple(event.id for event in log_all(services, drafts))


def moved_text(move: MovedTask) -> str:
    """Return one move in words."""
    way = "later" if move.days > 0 else "sooner"
    n = abs(move.days)
    return f"{move.label}: {task_label(move.task).lower()} {n} day{'s' if n > 1 else ''} {way}, on {move.to_on}"


def _joined(dues: list[Due]) -> list[Due]:
    """Join the tasks of one box and day into one with the window that all of them share."""
    by_visit: dict[tuple[str, date], list[Due]] = {}
    for due in dues:
        by_visit.setdefault((due.box, due.on), []).append(due)
    return [
        replace(
            max(some, key=lambda due: due.urgency),
            task="+".join(due.task for due in some),
            earliest=max(due.earliest for due in some),
            latest=min(due.latest for due in some),
        )
        for some in by_visit.values()
    ]


def _counts(days: list[date], from_on: date) -> dict[date, int]:
    end = from_on + timedelta(days=DAYS)
    counts: dict[date, int] = {}
    for on in days:
        if on < end:
            counts[on] = counts.get(on, 0) + 1
    return counts
