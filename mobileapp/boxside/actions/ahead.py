"""The coming weeks: boxes to visit, and hatches, pupations and emergences to expect."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxside.actions.context import today
from boxside.actions.dues import batch_dues, refresh
from boxside.actions.expecting import expected_of, planned, unknown_of, when_text, within
from boxside.actions.needs import Needs
from boxside.actions.rests import Rests, rests_of
from boxside.actions.services import Services
from boxside.actions.stage_groups import Group, firsts_of, stage_groups
from boxside.actions.visits import Rhythm, days_of, rhythms
from boxside.actions.waking import resting_texts
from boxside.actions.wording import day_text
from boxside.core.values.ahead import AheadDay, AheadView, AheadWeek, Expected
from boxside.core.values.chart import Bars, Chart, Role, date_axis, number_axis
from boxside.core.values.due import Due
from boxside.core.values.errors import EntryError
from boxside.store import outlook, reading
from boxside.store.reading import Entity

WEEKS_SHOWN = 4
LONGEST_DAYS = 400
# Tasks whose reasons say how often they come again, or what is planned.
TOLD = ("feed", "moisture", "wake", "quarantine_end")


@dataclass(frozen=True, slots=True)
class Outlook:
    """What every question about the coming weeks starts from, read once: who is where, their tasks and rests."""

    boxes: dict[str, Entity]
    groups: tuple[Group, ...]
    needs: Needs
    rests: Rests
    rhythms: dict[str, Rhythm]
    dues: tuple[Due, ...]


def outlook_of(services: Services) -> Outlook:
    """Return the present as forecasts need it; its cost grows with the boxes, not with the log."""
    refresh(services)
    firsts = firsts_of(services)
    cohorts = {cohort.id: cohort for cohort in reading.entities(services.store, "cohort")}
    boxes = {box.id: box for box in reading.open_boxes(services.store)}
    groups = stage_groups(services, firsts, boxes, cohorts)
    needs, rests = Needs(services, firsts, cohorts), rests_of(services)
    return Outlook(
        boxes=boxes,
        groups=groups,
        needs=needs,
        rests=rests,
        rhythms=rhythms(groups, needs, rests),
        dues=(*outlook.coming_dues(services.store, TOLD), *batch_dues(services)),
    )


def ahead_view(services: Services, from_on: date | None = None, to_on: date | None = None) -> AheadView:
    """Return the weeks from a day to another, both included.

    Parameters
    ----------
    from_on : None for today
    to_on : None for four weeks from the first day

    Raises
    ------
    EntryError : a span that is the wrong way round, begins in the past, or is longer than 400 days
    """
    day = today(services)
    first = from_on or day
    last = to_on or first + timedelta(days=7 * WEEKS_SHOWN - 1)
    check_span(day, first, last)
    now = outlook_of(services)
    found = (*expected_of(now.groups, now.needs, now.rests, day), *planned(now.dues, now.boxes))
    expected = within(sorted(found, key=lambda one: (one.by, one.subject, one.what, one.sex)), first, last)
    days = days_of(now.dues, now.rhythms, now.boxes, (day, first, last))
    return AheadView(
        from_on=first,
        to_on=last,
        weeks=_weeks(days, expected),
        expected=expected,
        unknown=unknown_of(now.needs, now.groups),
        resting=resting_texts(now.groups, now.rhythms, now.rests, day),
        chart=_chart(days),
    )


def check_span(day: date, first: date, last: date) -> None:
    """Refuse a span that cannot be looked at."""
    if last < first:
        raise EntryError(f"The span is the wrong way round: {first} is after {last}. Nothing was changed.")
    if first < day:
        raise EntryError(f"{first} is past. Nothing was changed. Begin today, {day}, or later.")
    if (last - day).days > LONGEST_DAYS:
        raise EntryError(f"{last} is more than {LONGEST_DAYS} days from now. Nothing was changed. Look less far.")


def _weeks(days: Sequence[AheadDay], expected: Sequence[Expected]) -> tuple[AheadWeek, ...]:
    weeks = [tuple(days[i : i + 7]) for i in range(0, len(days), 7)]
    rows: list[list[Expected]] = [[] for _ in weeks]
    for one in expected:
        on = one.likely or one.earliest or days[0].on
        rows[min(max((on - days[0].on).days // 7, 0), len(weeks) - 1)].append(one)
    return tuple(AheadWeek(week[0].on, week, tuple(row)) for week, row in zip(weeks, rows, strict=True))


def _chart(days: Sequence[AheadDay]) -> Chart:
    counts = tuple(float(day.n_boxes) for day in days)
    bars = tuple(float(day.on.toordinal()) for day in days)
    return Chart(
        title="Boxes a day",
        x=date_axis("Day", days[0].on, days[-1].on),
        y=number_axis("Boxes", "", 0, max(*counts, 1.0)),
        series=(Bars("boxes to visit", Role.MAIN, bars, counts),),
        notes=("Repeated tasks are counted as if each were done when due.",),
    )


def ahead_json(view: AheadView) -> dict[str, object]:
    """Return the weeks as plain data, for programs."""
    return {
        "from": view.from_on.isoformat(),
        "to": view.to_on.isoformat(),
        "expected": [expected_json(one) for one in view.expected],
        "days": [
            {
                "on": day.on.isoformat(),
                "boxes": day.n_boxes,
                "heavy": day.heavy,
                "visits": [
                    {"box": visit.label, "tasks": list(visit.tasks), "sure": visit.sure} for visit in day.visits
                ],
            }
            for week in view.weeks
            for day in week.days
        ],
        "unknown": list(view.unknown),
        "resting": list(view.resting),
    }


def expected_json(one: Expected) -> dict[str, object]:
    """Return one expectation as plain data; days are null where none can be given."""
    return {
        "what": one.what,
        "subject": one.subject,
        "headline": one.headline,
        "n": one.n,
        "stage": one.stage or None,
        "sex": one.sex or None,
        "outlook": str(one.outlook),
        "earliest": one.earliest.isoformat() if one.earliest else None,
        "likely": one.likely.isoformat() if one.likely else None,
        "latest": one.latest.isoformat() if one.latest else None,
        "probability": one.share_frac,
        "reasons": [{"rule": r.rule, "event": r.event, "days": r.days, "text": r.text} for r in one.reasons],
    }


def ahead_lines(services: Services, view: AheadView) -> list[str]:
    """Return the weeks as lines of text, for a shell."""
    day = today(services)
    lines: list[str] = []
    for week in view.weeks:
        counts = "  ".join(f"{d.on.day}.{d.on.month}. {d.n_boxes}{'!' if d.heavy else ''}" for d in week.days)
        lines += [f"Week from {day_text(week.from_on, day)}: boxes a day {counts}"]
        for one in week.expected:
            lines.append(f"    {one.headline}: {when_text(one, day)}.")
            lines += [f"        {reason.text}" for reason in one.reasons]
    return [*lines, *view.resting, *view.unknown]
