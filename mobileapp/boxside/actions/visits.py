"""The visits of the coming days: what is due now, and what comes again if it is done when due."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
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
from boxside.core.values.profile import Profile
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


class Turn(NamedTuple):
    """One task at a box on a day; `sure` where it follows from what was logged and not from a repetition.

    A plain tuple: a shelf of hundreds of boxes has tens of thousands of them.
    """

    on: date
    box: str
    task: str
    urgency: int
    sure: bool


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


def turns(dues: Sequence[Due], known: Mapping[str, Rhythm], today: date, to_on: date) -> Iterator[Turn]:
    """Yield every task from today to a day: those due, then their repetitions, as if each were done when due."""
    for due in dues:
        rhythm = known.get(due.box)
        on = max(due.on, today)
        if on > to_on:
            continue
        if rhythm is None:
            yield Turn(on, due.box, due.task, due.urgency, sure=True)
            continue
        yield from _repeated(due, rhythm, on, to_on)
    for box, rhythm in known.items():
        yield from _after_waking(box, rhythm, today, to_on)


def _repeated(due: Due, rhythm: Rhythm, on: date, to_on: date) -> Iterator[Turn]:
    every = interval_days(due, rhythm)
    # A watch that is over is not repeated without end.
    last = min(to_on, due.latest) if due.task in _EVERY and due.latest > on else to_on
    spans = [span for span in rhythm.rests if not span.begun] if due.task in _AWAKE else []
    out_days = rhythm.profile.window("meal_out").on if due.task == "feed" else None
    sure = True
    while on <= last:
        if spans and any(span.holds(on) for span in spans):
            return
        yield Turn(on, due.box, due.task, due.urgency, sure)
        if out_days is not None and on + timedelta(days=out_days) <= to_on:
            yield Turn(on + timedelta(days=out_days), due.box, "meal_out", due.urgency, sure=False)
        if every is None:
            return
        sure, on = False, on + timedelta(days=every)


def _after_waking(box: str, rhythm: Rhythm, today: date, to_on: date) -> Iterator[Turn]:
    """Yield the meals of larvae that wake within the days looked at."""
    if rhythm.youngest is None:
        return
    profile = rhythm.profile
    every = profile.window(profile.band_of(rhythm.youngest).window_key).on
    for span in rhythm.rests:
        on = max(span.until_on, today) + timedelta(days=profile.window("wake_meal").on)
        ends = min((s.from_on for s in rhythm.rests if s.from_on > span.from_on), default=date.max)
        while on <= to_on and on < ends:
            yield Turn(on, box, "feed", 20, sure=False)
            on += timedelta(days=every)


def days_of(found: Iterable[Turn], boxes: Mapping[str, Entity], from_on: date, to_on: date) -> tuple[AheadDay, ...]:
    """Return each day with its visits, most urgent first; several tasks of a box and day are one visit."""
    table: dict[date, dict[str, list[Turn]]] = {}
    for turn in found:
        if from_on <= turn.on <= to_on and turn.box in boxes:
            table.setdefault(turn.on, {}).setdefault(turn.box, []).append(turn)
    days = []
    for n in range((to_on - from_on).days + 1):
        held = table.get(from_on + timedelta(days=n), {})
        visits = _visits(held, boxes) if n < NAMED_DAYS else ()
        days.append(AheadDay(from_on + timedelta(days=n), len(held), visits))
    return _marked(days)


def _visits(held: Mapping[str, Sequence[Turn]], boxes: Mapping[str, Entity]) -> tuple[Visit, ...]:
    ordered = sorted(held.items(), key=lambda item: (-max(item[1], key=_urgency).urgency, boxes[item[0]].shown))
    return tuple(_visit(boxes[box], some) for box, some in ordered)


_urgency = attrgetter("urgency")


def _visit(box: Entity, some: Sequence[Turn]) -> Visit:
    if len(some) == 1:
        return Visit(box.id, box.shown, (task_label(some[0].task),), some[0].sure)
    tasks = dict.fromkeys(task_label(turn.task) for turn in sorted(some, key=lambda turn: -turn.urgency))
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
