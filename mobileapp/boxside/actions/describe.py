"""The round as lines of text, for a shell."""

from __future__ import annotations

from boxside.actions.context import today
from boxside.actions.list_due import box_round_view, due_today, round_view
from boxside.actions.services import Services
from boxside.core.values.views import RoundView

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def round_lines(services: Services) -> list[str]:
    """Return today's round, box by box, each task with its reason."""
    day = today(services)
    boxes = [box for box, _ in due_today(services)]
    said = f"{_DAYS[day.weekday()]} {day.isoformat()}"
    if not boxes:
        empty = round_view(services)
        return [f"{said}: {empty.headline} {empty.why}"]
    lines = [f"{said}: {len(boxes)} box{'es are' if len(boxes) > 1 else ' is'} due."]
    for place, box in enumerate(boxes, start=1):
        lines += ["", *box_text(services, box_round_view(services, box, place, len(boxes)))]
    return lines


def box_text(services: Services, view: RoundView) -> list[str]:
    """Return one box: who lives there, and each due task with its reason."""
    lines = [f"{view.label}  {view.who}"]
    for due in view.due:
        lines.append(f"    {due.label}: {due.when}: {due.why[:1].lower()}{due.why[1:]}")
    return lines if view.due else [*lines, f"    {view.why}"]
