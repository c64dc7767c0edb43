"""Going away: what to do on the last day, what goes wrong without a helper, what a helper does and when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from boxside.actions.ahead import Outlook, check_span, expected_json, outlook_of
from boxside.actions.context import today
from boxside.actions.expecting import expected_of, when_text, within
from boxside.actions.helper_sheet import sheet_lines
from boxside.actions.meals import n_larvae
from boxside.actions.services import Services
from boxside.actions.visits import Rhythm, helping_for, interval_days
from boxside.actions.wording import who_text
from boxside.core.care import task_label
from boxside.core.planning import AwayPlan, Chore, DatedTask, away_plan
from boxside.core.values.ahead import AwayView, Expected, Job, JobDay, LateTask
from boxside.core.values.due import Due, Reason
from boxside.core.values.forecast import Outlook as Say
from boxside.core.values.ledger import Line
from boxside.store import reading

# Looks are not chores for a trip: what may happen meanwhile is told as it is expected.
_NOT_CHORES = ("watch_hatch", "watch_pupation", "watch_emergence", "quarantine_end", "check_prey_batch")
_ONCE_DAYS = 1000


def away_view(services: Services, leave_on: date, back_on: date, helper: str = "") -> AwayView:
    """Return what leaving after one day and being back on another asks for.

    Parameters
    ----------
    leave_on : the last day at home
    back_on : the first day at home again
    helper : who comes meanwhile, for the sheet

    Raises
    ------
    EntryError : a return that is not after the last day, a last day that is past, or a trip of over 400 days
    """
    check_span(today(services), leave_on, back_on)
    now = outlook_of(services)
    expected = _meanwhile(expected_of(now.groups, now.needs, now.rests, today(services)), leave_on, back_on)
    day = today(services)
    chores = [*_chores(now, day, leave_on), *_hatchlings(now, expected)]
    plan = away_plan(chores, leave_on, back_on)
    telling = _Telling(services, now, reading.lines(services.store, list(now.boxes)), n_larvae(now))
    view = AwayView(
        leave_on=leave_on,
        back_on=back_on,
        last_day=JobDay(leave_on, telling.jobs(plan.before)),
        unattended=tuple(
            LateTask(late.box, now.boxes[late.box].shown, late.task, late.late_from, late.late_days)
            for late in plan.unattended
        ),
        helper=tuple(_helper_days(telling, plan, expected, day)),
        safe_until=plan.safe_until,
        limiting=tuple(now.boxes[box].shown for box in plan.limiting),
        expected=expected,
        sheet=(),
    )
    return replace(view, sheet=sheet_lines(services, view, helper))


def _meanwhile(found: Sequence[Expected], leave_on: date, back_on: date) -> tuple[Expected, ...]:
    """Return what is likely to happen meanwhile: of slow pupations only those more likely than not."""
    kept = within(found, leave_on, back_on)
    return tuple(one for one in kept if one.what != "pupate" or (one.likely is not None and one.likely <= back_on))


def _chores(now: Outlook, day: date, leave_on: date) -> Iterator[Chore]:
    """Yield each task as it will stand on the last day, if until then all is done when due."""
    for due in now.dues:
        rhythm = now.rhythms.get(due.box)
        if rhythm is None or due.task in _NOT_CHORES or due.box not in now.boxes:
            continue
        every = interval_days(due, rhythm)
        if every is not None:
            yield Chore(_brought_to(due, every, day, leave_on), every)
        elif due.on >= leave_on or due.latest >= leave_on:
            yield Chore(due, _ONCE_DAYS)


def _brought_to(due: Due, every: int, day: date, leave_on: date) -> Due:
    """Return the turn of a task that is open on the last day at home, if until then each is done when due."""
    first = max(due.on, day)
    if first >= leave_on:
        return due
    turns = -(-(leave_on - first).days // max(every, 1))
    on = first + timedelta(days=turns * every)
    return replace(due, earliest=on - (due.on - due.earliest), on=on, latest=on + (due.latest - due.on))


def _hatchlings(now: Outlook, expected: Sequence[Expected]) -> Iterator[Chore]:
    """Yield the first meal of the larvae that are likely to hatch meanwhile."""
    for one in expected:
        if one.what != "hatch" or one.earliest is None or one.likely is None or one.outlook is not Say.EXPECTED:
            continue
        profile = now.rhythms[one.box_id].profile
        window = profile.window("first_meal")
        text = f"Larvae are likely to hatch here by {one.likely.isoformat()}: the first meal is due within days."
        due = Due(
            box=one.box_id,
            task="feed",
            earliest=one.earliest,
            on=max(one.earliest, one.likely + timedelta(days=window.on)),
            latest=max(one.earliest, one.likely + timedelta(days=window.latest)),
            reasons=(Reason("first_meal", None, window.on, text),),
            urgency=30,
        )
        yield Chore(due, profile.window(profile.bands[0].window_key).on)


@dataclass(frozen=True, slots=True)
class _Telling:
    """Turns planned tasks into jobs that somebody who does not know the colony can do."""

    services: Services
    now: Outlook
    lines: Mapping[str, Sequence[tuple[Line, int]]]
    larvae: Mapping[str, int]

    def jobs(self, tasks: Sequence[DatedTask]) -> tuple[Job, ...]:
        found = [self._job(task) for task in tasks]
        return tuple(sorted(found, key=lambda job: (job.place, job.label, job.task)))

    def _job(self, task: DatedTask) -> Job:
        box = self.now.boxes[task.box]
        area = reading.entity(self.services.store, "area", str(box.data.get("area") or ""))
        position = box.data.get("position")
        place = " ".join(part for part in (area.shown if area else "", str(position or "")) if part)
        return Job(
            box_id=task.box,
            label=box.shown,
            place=place,
            who=who_text(self.lines[task.box]),
            task=task_label(task.task),
            how=self._how(task),
            why=task.why,
        )

    def _how(self, task: DatedTask) -> str:
        if task.task != "feed":
            return _HOW.get(task.task, "")
        rhythm = self.now.rhythms[task.box]
        if task.box not in self.larvae:
            return (
                "only if larvae have hatched: a few of the smallest prey, opened; the hatchlings leave by small holes"
            )
        return feed_text(rhythm, self.larvae[task.box])


_HOW = {
    "moisture": "mist so that it is damp, never wet; no puddles",
    "air": "lift the lid for a few minutes, wipe off drops",
    "meal_out": "take leftovers and shells out",
    "separate_sexes": "one sex to a box",
    "introduce": "one male to each glowing female",
}


def feed_text(rhythm: Rhythm, n: int) -> str:
    """Return how much of which size a box is given, from the profile's helping."""
    helping = helping_for(rhythm.profile, rhythm.youngest or 0)
    items = max(round(n * helping.per_larva), 1)
    size = f" of {helping.low_mm:g} to {helping.high_mm:g} mm" if helping.high_mm else ""
    return f"{items} prey{size}"


def _helper_days(telling: _Telling, plan: AwayPlan, expected: Sequence[Expected], day: date) -> Iterator[JobDay]:
    for on in plan.helper_days:
        tasks = [task for task in plan.helper if task.on == on]
        seen = [one for one in expected if one.earliest is not None and one.earliest <= on]
        yield JobDay(on, telling.jobs(tasks), tuple(f"{one.headline}: {when_text(one, day)}" for one in seen))


def away_json(view: AwayView) -> dict[str, object]:
    """Return the plan as plain data, for programs."""
    return {
        "leave": view.leave_on.isoformat(),
        "back": view.back_on.isoformat(),
        "last_day": [_job_json(job) for job in view.last_day.jobs],
        "unattended": [
            {
                "box": late.label,
                "task": late.task,
                "late_from": late.late_from.isoformat(),
                "late_days": late.late_days,
            }
            for late in view.unattended
        ],
        "helper": [
            {"on": day.on.isoformat(), "jobs": [_job_json(job) for job in day.jobs], "expected": list(day.events)}
            for day in view.helper
        ],
        "safe_until": view.safe_until.isoformat() if view.safe_until else None,
        "limiting": list(view.limiting),
        "expected": [expected_json(one) for one in view.expected],
    }


def _job_json(job: Job) -> dict[str, object]:
    return {"box": job.label, "place": job.place, "who": job.who, "task": job.task, "how": job.how, "why": job.why}
