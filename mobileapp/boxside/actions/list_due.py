"""The round: one due box after another."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from boxside.actions.buttons import round_acts
from boxside.actions.context import profile, today, zone_of
from boxside.actions.dues import all_tasks, due_on, tasks_of
from boxside.actions.entry import box_label
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.actions.wording import day_text, is_about, who_text
from boxside.core.care import decisive, is_late, pressing, task_label, when, why
from boxside.core.values.due import Due
from boxside.core.values.moments import day_of
from boxside.core.values.views import DueLine, RoundView
from boxside.store import reading

VISIT_FOR_MS = 30 * 60_000
# A clock that was set back a little does not end a visit.
_BEHIND_MS = 60_000


def due_today(services: Services) -> list[tuple[str, list[Due]]]:
    """Return today's boxes with their due tasks, most pressing first."""
    return list(due_on(services, today(services)).items())


def round_view(services: Services, passed: tuple[str, ...] = (), box_id: str = "") -> RoundView:
    """Return the box to stand at: the one that was asked for, else the most pressing one not yet passed.

    Parameters
    ----------
    passed : ids of the boxes that this round has left behind
    box_id : show this box, whether or not anything is due there
    """
    boxes = due_on(services, today(services))
    ahead = [box for box in boxes if box not in passed]
    shown = box_id or next(iter(ahead), "")
    if not shown:
        return _empty_round(services, bool(boxes))
    place = len([box for box in passed if box != shown]) + 1
    return box_round_view(services, shown, place, max(place, len({*boxes, *passed, shown})))


def box_round_view(services: Services, box: str, place: int, total: int) -> RoundView:
    """Return one box as the round shows it."""
    day = today(services)
    lines = reading.lines(services.store, [box])[box]
    tasks = sorted((d for d in tasks_of(services, box) if d.on <= day), key=lambda d: pressing(d, day))
    visit, done = open_visit(services, box)
    main, more, signs = round_acts(services, lines, [due.task for due in tasks], done)
    return RoundView(
        box_id=box,
        label=box_label(services, box),
        headline=task_label(tasks[0].task) if tasks else "Nothing due",
        who=_sentence(who_text(lines, is_about(services, box))),
        why=why(tasks[0], day) if tasks else next_text(services, box, day),
        due=due_lines(tasks, day),
        main=main,
        more=more,
        signs=signs,
        visit=visit,
        place=place,
        total=total,
        # Once a round, at its first box: said at every box it would no longer be read.
        cautions=feeding_cautions(services) if place == 1 and any(due.task == "feed" for due in tasks) else (),
    )


def due_lines(tasks: Sequence[Due], day: date) -> tuple[DueLine, ...]:
    """Return due tasks in words: when, and apart from it why."""
    return tuple(
        DueLine(due.task, task_label(due.task), when(due, day), _reason(due), is_late(due, day)) for due in tasks
    )


def _reason(due: Due) -> str:
    said = decisive(due)
    return said.text if said else ""


def next_text(services: Services, box: str, day: date) -> str:
    """Return when something will next be due at a box."""
    coming = [due for due in tasks_of(services, box) if due.on > day]
    if not coming:
        return "Nothing is planned here."
    due = coming[0]
    return f"Next: {task_label(due.task).lower()} on {day_text(due.on, day)}."


def feeding_cautions(services: Services) -> tuple[str, ...]:
    """Return what a keeper is reminded of where prey is handled."""
    return tuple(caution.text for caution in profile(services).cautions if caution.where == "feed")


def open_visit(services: Services, box: str) -> tuple[str, tuple[str, ...]]:
    """Return the visit that is still open at a box, or a new one, and the kinds logged in it."""
    now_ms = services.clock.now_ms()
    recent = [
        (event, struck)
        for event, struck in reading.history(services.store, "box", box, 12)
        if -_BEHIND_MS <= now_ms - event.visit_ms < VISIT_FOR_MS and event.subject_id == box
    ]
    if not recent:
        return new_id(services, now_ms), ()
    visit = recent[0][0].visit
    kinds = [e.kind for e, struck in recent if e.visit == visit and struck is None and e.kind != "void"]
    return visit, tuple(dict.fromkeys(kinds))


def _empty_round(services: Services, some_left: bool) -> RoundView:
    """Return the round when no box is left: what was passed by, or when the next box is due."""
    day = today(services)
    if some_left:
        return RoundView("", "", "That was the last box.", "", "Some boxes were left for later: they stay due.")
    coming = [due for due in all_tasks(services) if due.on > day]
    if not coming:
        return RoundView("", "", "Nothing is due.", "", "Add boxes on the shelf; what they need will show up here.")
    first = min(coming, key=lambda due: (due.on, pressing(due, due.on)))
    n = len({due.box for due in coming if due.on == first.on})
    more = f" and {n - 1} more" if n > 1 else ""
    return RoundView(
        "", "", "Nothing is due today.", "",
        f"Next: {box_label(services, first.box)}{more} on {day_text(first.on, day)}: {task_label(first.task).lower()}.",
    )  # fmt: skip


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def due_json(services: Services, day: date | None = None) -> dict[str, object]:
    """Return what is due by a day as plain data, for programs."""
    on = day or day_of(services.clock.now_ms(), zone_of(services))
    rows = [
        {
            "box": box_label(services, box),
            "task": due.task,
            "earliest": due.earliest.isoformat(),
            "on": due.on.isoformat(),
            "latest": due.latest.isoformat(),
            "reasons": [{"rule": r.rule, "event": r.event, "days": r.days, "text": r.text} for r in due.reasons],
        }
        for box, tasks in due_on(services, on).items()
        for due in tasks
    ]
    return {"on": on.isoformat(), "boxes": rows}


def due_text(services: Services, box: str, task: str) -> str:
    """Return when one task of a box is due and why, whether that is today or later."""
    found = next((due for due in tasks_of(services, box) if due.task == task), None)
    return f"{task_label(task)}: {why(found, today(services))}" if found else f"{task_label(task)}: not planned."


def next_to_feed(services: Services) -> str:
    """Return the box that is to be fed first, empty where none is."""
    feeds = [due for due in all_tasks(services) if due.task == "feed"]
    return min(feeds, key=lambda due: (due.on, -due.urgency, due.box)).box if feeds else ""
