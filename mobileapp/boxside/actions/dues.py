"""What is due, kept up to date: worked out again only for boxes whose log or profile has changed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from boxside.actions.context import profile, stamp
from boxside.actions.facts import box_facts, species_of
from boxside.actions.services import Services
from boxside.core.care import dues, pressing, prey_batch_dues
from boxside.core.values.due import Due
from boxside.store import reading, saving


def refresh(services: Services) -> str:
    """Work out the due tasks of every box where they may have changed; return the stamp they hold for."""
    now = stamp(services)
    stale = reading.stale_boxes(services.store, now)
    if not stale:
        return now
    found = work_out(services, stale)
    if not services.store.why_read_only:
        with saving(services.store):
            reading.keep_dues(services.store, now, found)
    return now


def work_out(services: Services, boxes: Iterable[str]) -> dict[str, tuple[Due, ...]]:
    """Return the due tasks of the given boxes from their facts."""
    facts = box_facts(services, list(boxes))
    profiles = {species: profile(services, species) for species in {species_of(services, f) for f in facts.values()}}
    return {box: dues(found, profiles[species_of(services, found)]) for box, found in facts.items()}


def batch_dues(services: Services) -> tuple[Due, ...]:
    """Return the prey batches that several boxes have refused: a question to all boxes, so never kept for one."""
    boxes = reading.boxes_that_refuse(services.store)
    return prey_batch_dues(box_facts(services, boxes).values(), profile(services)) if boxes else ()


def tasks_of(services: Services, box: str) -> list[Due]:
    """Return all tasks of one box, whenever they are due, soonest first."""
    refresh(services)
    found = [*reading.dues_of(services.store, box), *(due for due in batch_dues(services) if due.box == box)]
    return sorted(found, key=lambda due: (due.on, due.task))


def all_tasks(services: Services) -> list[Due]:
    """Return every task of every open box."""
    refresh(services)
    return [*reading.all_dues(services.store), *batch_dues(services)]


def due_on(services: Services, day: date) -> dict[str, list[Due]]:
    """Return the tasks due by a day, box by box, the most pressing box and task first."""
    refresh(services)
    boxes: dict[str, list[Due]] = {}
    for due in (*reading.dues_by(services.store, day), *batch_dues(services)):
        if due.on <= day:
            boxes.setdefault(due.box, []).append(due)
    for tasks in boxes.values():
        tasks.sort(key=lambda due: pressing(due, day))
    return dict(sorted(boxes.items(), key=lambda item: pressing(item[1][0], day)))
