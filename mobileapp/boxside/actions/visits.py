"""The visits of the coming days: what is due now, and what comes again if it is done when due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from operator import attrgetter
from typing import NamedTuple

from boxside.actions.needs import Needs
from boxside.actions.rests import Rests, RestSpan
from boxside.actions.stage_groups import Group
from boxside.core.care import task_label
from boxside.core.values.ahead import AheadDay, Visit
from boxside.core.values.due import Due
from boxside.core.values.profile import Helping, Profile
from boxside.core.values.stages import Stage
from boxside.store.reading import Entity

_EVERY = {
    "watch_hatch": "watch.hatch_every_days",
    "watch_pupation": "watch.pupation_every_days",
    "watch_emergence": "watch.emergence_every_days",
}
_WINDOWS = ("clean", "renew")
# Only what awake larvae need stops in a winter rest.
_AWAKE = frozenset({"feed", "meal_out", "clean", "renew", "watch_pupation"})
# A day is heavy from half as many boxes again as the middle day, and at least three more (common practice,
# no source).
_HEAVY_TIMES, _HEAVY_MORE = 1.5, 3
# Beyond this the visits rest on repetitions: their number is worth telling, their boxes are not.
NAMED_DAYS = 14
_MEAL_URGENCY = 20
_urgency = attrgetter("urgency")


_NO_HELPING = Helping(1, 0.0, 0.0, 0.2, "common practice, no source")


class Turn(NamedTuple):
    """One task at a box; `sure` where it follows from what was logged and not from a repetition."""

    task: str
    urgency: int
    sure: bool


@dataclass(frozen=True, slots=True)
class Calendar:
    """The days looked at, numbered from today, with the turns of every box; beyond the named days, boxes only.

    A shelf of hundreds of boxes has tens of thousands of turns, so days are plain numbers here.
    """

    today: date
    first: int
    last: int
    named: tuple[dict[str, list[Turn]], ...]
    counted: tuple[set[str], ...]

    def number(self, on: date) -> int:
        """Return how many days after today a day is; days past count as today."""
        return max(on.toordinal() - self.today.toordinal(), 0)

    def put(self, box: str, task: str, urgency: int, days: range, sure: bool) -> None:
        """Put a task on some days in order, all but the first of them repetitions."""
        n_named, again = len(self.named), Turn(task, urgency, sure=False)
        for day in days:
            nth = day - self.first
            if nth >= n_named:
                self.counted[nth - n_named].add(box)
            elif nth >= 0:
                turn = Turn(task, urgency, sure=True) if sure else again
                self.named[nth].setdefault(box, []).append(turn)
            sure = False


@dataclass(frozen=True, slots=True)
class Rhythm:
    """What decides a box's repetitions: its profile, the youngest larvae's instar (None without larvae), its rests."""

    profile: Profile
    youngest: int | None
    rests: tuple[RestSpan, ...]


def rhythms(groups: Sequence[Group], needs: Needs, rests: Rests) -> dict[str, Rhythm]:
    """Return every box's rhythm by its id."""
    youngest = youngest_of(groups)
    return {
        group.box.id: Rhythm(
            needs.profile(group.species), youngest.get(group.box.id), rests.of(group.box.id, group.area)
        )
        for group in groups
    }


def helping_for(profile: Profile, youngest: int) -> Helping:
    """Return what the larvae of a box are given; a plain guess, marked so, where the profile says nothing."""
    return profile.helping_of(youngest) or _NO_HELPING


def interval_days(due: Due, rhythm: Rhythm) -> int | None:
    """Return after how many days a task comes again once it is done; None where it does not."""
    profile = rhythm.profile
    if due.task == "feed":
        told = sum(r.days for r in due.reasons if r.rule.startswith("feeding.") or r.rule == "cool")
        if told > 0 and any(reason.rule.startswith("feeding.") for reason in due.reasons):
            return told
        return profile.window(profile.band_of(rhythm.youngest or 0).window_key).on
    if due.task == "moisture":
        told = due.reasons[0].days if due.reasons else 0
        return told if told > 0 else profile.window("moisture").on
    if due.task in _WINDOWS:
        return profile.window(due.task).on
    return max(profile.days(_EVERY[due.task]), 1) if due.task in _EVERY else None


def days_of(
    dues: Sequence[Due], known: Mapping[str, Rhythm], boxes: Mapping[str, Entity], span: tuple[date, date, date]
) -> tuple[AheadDay, ...]:
    """Return each day with its visits, most urgent first: what is due, then its repetitions as if each were done.

    Parameters
    ----------
    dues : every task of every box
    known : the rhythms of the boxes with animals; a task at any other is not repeated
    boxes : the open boxes
    span : today, and the first and last day to return

    Several tasks of a box and day are one visit.
    """
    calendar = calendar_of(dues, known, boxes, span)
    held = [*calendar.named, *calendar.counted]
    days = []
    for n, at in enumerate(held):
        visits = _visits(calendar.named[n], boxes) if n < len(calendar.named) else ()
        days.append(AheadDay(span[1] + timedelta(days=n), len(at), visits))
    return _marked(days)


def calendar_of(
    dues: Sequence[Due],
    known: Mapping[str, Rhythm],
    boxes: Mapping[str, Entity],
    span: tuple[date, date, date],
    most_named: int = NAMED_DAYS,
) -> Calendar:
    """Return the turns behind `days_of`, of whose days at most the first `most_named` name tasks."""
    day, from_on, to_on = span
    n_days = (to_on - from_on).days + 1
    n_named = min(n_days, most_named)
    named: tuple[dict[str, list[Turn]], ...] = tuple({} for _ in range(n_named))
    counted: tuple[set[str], ...] = tuple(set() for _ in range(n_days - n_named))
    calendar = Calendar(day, (from_on - day).days, (to_on - day).days, named, counted)
    for due in dues:
        if due.box in boxes:
            _repeat(calendar, due, known.get(due.box))
    for box, rhythm in known.items():
        if box in boxes and rhythm.youngest is not None and rhythm.rests:
            _wake(calendar, box, rhythm)
    return calendar


def _repeat(calendar: Calendar, due: Due, rhythm: Rhythm | None) -> None:
    """Put a task on its day and, where the box has animals, on the days on which it comes again."""
    on, last = calendar.number(due.on), calendar.last
    if on > last:
        return
    every = interval_days(due, rhythm) if rhythm is not None else None
    # A watch that is over is not repeated without end.
    if due.task in _EVERY and calendar.number(due.latest) > on:
        last = min(last, calendar.number(due.latest))
    days = range(on, last + 1, every) if every else range(on, on + 1)
    if rhythm is None:
        calendar.put(due.box, due.task, due.urgency, days, sure=True)
        return
    if due.task in _AWAKE:
        days = _until_rest(calendar, days, rhythm.rests)
    calendar.put(due.box, due.task, due.urgency, days, sure=True)
    if due.task == "feed":
        out = rhythm.profile.window("meal_out").on
        meals_out = range(days.start + out, min(days.stop + out, calendar.last + 1), days.step)
        calendar.put(due.box, "meal_out", due.urgency, meals_out, sure=False)


def _until_rest(calendar: Calendar, days: range, rests: Sequence[RestSpan]) -> range:
    """Return the days before the first that falls into a winter rest to come."""
    spans = [span for span in rests if not span.begun]
    if not spans:
        return days
    for nth, day in enumerate(days):
        on = calendar.today + timedelta(days=day)
        if any(span.holds(on) for span in spans):
            return days[:nth]
    return days


def _wake(calendar: Calendar, box: str, rhythm: Rhythm) -> None:
    """Put the meals of larvae that wake within the days looked at."""
    profile = rhythm.profile
    every = profile.window(profile.band_of(rhythm.youngest or 0).window_key).on
    for span in rhythm.rests:
        on = calendar.number(span.until_on) + profile.window("wake_meal").on
        ends = min((s.from_on for s in rhythm.rests if s.from_on > span.from_on), default=date.max)
        days = range(on, min(calendar.last + 1, calendar.number(ends)), every)
        calendar.put(box, "feed", _MEAL_URGENCY, days, sure=False)


def _visits(held: Mapping[str, Sequence[Turn]], boxes: Mapping[str, Entity]) -> tuple[Visit, ...]:
    ordered = sorted((-max(map(_urgency, some)), boxes[box].shown, box) for box, some in held.items())
    return tuple(_visit(boxes[box], held[box]) for _, _, box in ordered)


def _visit(box: Entity, some: Sequence[Turn]) -> Visit:
    if len(some) == 1:
        return Visit(box.id, box.shown, (task_label(some[0].task),), some[0].sure)
    tasks = dict.fromkeys(task_label(turn.task) for turn in sorted(some, key=_urgency, reverse=True))
    return Visit(box.id, box.shown, tuple(tasks), any(turn.sure for turn in some))


def _marked(days: Sequence[AheadDay]) -> tuple[AheadDay, ...]:
    """Mark the heavy days."""
    counts = sorted(day.n_boxes for day in days if day.n_boxes)
    middle = counts[len(counts) // 2] if counts else 0
    limit = max(middle * _HEAVY_TIMES, middle + _HEAVY_MORE)
    return tuple(replace(day, heavy=day.n_boxes > limit) for day in days)


def youngest_of(groups: Sequence[Group]) -> dict[str, int]:
    """Return the lowest instar of the larvae in each box that has any; 0 is unknown and counts as the youngest."""
    found: dict[str, int] = {}
    for group in groups:
        if group.stage is Stage.LARVA:
            found[group.box.id] = min(found.get(group.box.id, group.youngest), group.youngest)
    return found
