"""The helper's page: what to do, when and where, for somebody who does not know the colony."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from boxside.actions.context import profile, today
from boxside.actions.expecting import when_text
from boxside.actions.services import Services
from boxside.actions.wording import day_text
from boxside.core.care import task_label
from boxside.core.tables import SheetLine, sheet_pdf
from boxside.core.values.ahead import AwayView, Job, JobDay

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_STEP = "    "
_RELEASED = "Let no animal out, and take none home. What dies, note; leave it in the box."


def sheet_lines(services: Services, view: AwayView, helper: str) -> tuple[str, ...]:
    """Return the page as lines of text; headings stand at the edge, the rest stands in."""
    day = today(services)
    span = f"{day_text(view.leave_on, day)} to {day_text(view.back_on, day)}"
    lines = [f"Glow-worms, {span}{f': for {helper}' if helper else ''}"]
    if view.helper:
        lines.append(f"{_STEP}Please come on {_and([_weekday(one.on, day) for one in view.helper])}.")
    else:
        lines.append(f"{_STEP}Nobody needs to come.")
    for one in view.helper:
        lines += [f"{_weekday(one.on, day)}", *_jobs(one)]
    if view.expected:
        lines += ["What may happen meanwhile", *(f"{_STEP}{e.headline}: {when_text(e, day)}." for e in view.expected)]
    lines += ["Please mind", *(f"{_STEP}{text}" for text in _mind(services))]
    by = helper or "your name"
    lines += [
        "When done",
        f"{_STEP}Tick the square and write the time, or log it in Boxside, with {by} under Settings, Who logs here.",
    ]
    return tuple(lines)


def away_lines(services: Services, view: AwayView) -> list[str]:
    """Return the whole plan as lines of text, for a shell."""
    day = today(services)
    lines = [f"Away after {day_text(view.leave_on, day)}, back on {day_text(view.back_on, day)}."]
    if view.safe_until is None:
        lines.append("Nothing is due, however long.")
    else:
        limits = f", limited by {', '.join(view.limiting[:6])}" if view.limiting else ""
        lines.append(f"Latest safe return without a helper: {day_text(view.safe_until, day)}{limits}.")
    lines += [f"On {day_text(view.leave_on, day)}, the last day:", *(_jobs(view.last_day) or [f"{_STEP}nothing more"])]
    if view.unattended:
        lines.append("Late if nobody comes:")
        lines += [
            f"{_STEP}{late.label}: {task_label(late.task).lower()}, late from {day_text(late.late_from, day)}, "
            f"{late.late_days} day{'s' if late.late_days > 1 else ''}"
            for late in view.unattended
        ]
    return [*lines, "", *view.sheet]


def sheet_text(view: AwayView) -> str:
    """Return the helper's page as text to share."""
    return "\n".join(view.sheet) + "\n"


def sheet_bytes(view: AwayView) -> bytes:
    """Return the helper's page as a PDF to print."""
    lines = [
        SheetLine(line.strip(), heading=not line.startswith(" "), indent=(len(line) - len(line.lstrip())) // 4)
        for line in view.sheet
    ]
    return sheet_pdf(lines, view.sheet[0])


def _jobs(day: JobDay) -> list[str]:
    """Return a day's jobs, boxes that ask for the same taken together, so that the page stays one."""
    groups: dict[tuple[str, str], list[Job]] = {}
    for job in day.jobs:
        groups.setdefault((job.task, job.how), []).append(job)
    lines = [f"{_STEP}{task}{f': {how}' if how else ''}. {_ticks(jobs)}" for (task, how), jobs in groups.items()]
    return [*lines, *(f"{_STEP}{text}." for text in day.events)]


def _ticks(jobs: Sequence[Job]) -> str:
    return "  ".join(f"[ ] {job.label}{f' ({job.place})' if job.place else ''}" for job in jobs)


def _mind(services: Services) -> Sequence[str]:
    said = [caution.text for caution in profile(services).cautions if caution.where in ("feed", "handle")]
    return [*said, _RELEASED]


def _weekday(on: date, day: date) -> str:
    return f"{_DAYS[on.weekday()]} {day_text(on, day)}"


def _and(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
