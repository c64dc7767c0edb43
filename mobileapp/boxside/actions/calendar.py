"""The coming weeks as a calendar file: one entry an expectation and one a day with visits, with alarms."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from boxside.actions.context import setting, today, zone_of
from boxside.actions.expecting import when_text
from boxside.actions.services import Services
from boxside.core.planning import CalendarEntry, calendar_file
from boxside.core.values.ahead import AheadDay, AheadView, Expected
from boxside.core.values.forecast import Outlook
from boxside.core.values.moments import from_ms, local_ms


def calendar_bytes(services: Services, view: AheadView) -> bytes:
    """Return an iCalendar file of the weeks; an entry keeps its identifier from one file to the next.

    Alarms ring at the hour of the keeper's nudge, by the wall clock of their day.
    """
    now = from_ms(services.clock.now_ms(), zone_of(services))
    entries = [*_expected(services, view), *_visits(services, view)]
    return calendar_file(entries, now, "Boxside")


def _expected(services: Services, view: AheadView) -> Iterator[CalendarEntry]:
    day = today(services)
    for one in view.expected:
        begins = _first_day(one, day)
        if begins is None:
            continue
        reasons = "\n".join(reason.text for reason in one.reasons)
        yield CalendarEntry(
            key=f"expected/{one.key}",
            title=one.headline,
            on=begins,
            details=f"Expected {when_text(one, day)}.\n{reasons}",
            alarm_at=from_ms(local_ms(begins, _minute(services), zone_of(services))),
        )


def _first_day(one: Expected, day: date) -> date | None:
    """Return the day from which to look: the earliest still to come; None where no day can be given."""
    if one.outlook is not Outlook.EXPECTED or one.earliest is None:
        return None
    return max(one.earliest, day)


def _visits(services: Services, view: AheadView) -> Iterator[CalendarEntry]:
    for week in view.weeks:
        for day in week.days:
            if day.n_boxes:
                yield _round(services, day)


def _round(services: Services, day: AheadDay) -> CalendarEntry:
    lines = [f"{visit.label}: {', '.join(visit.tasks)}" for visit in day.visits]
    n = day.n_boxes
    return CalendarEntry(
        key=f"round/{day.on.isoformat()}",
        title=f"{n} box{'es' if n > 1 else ''} due",
        on=day.on,
        details="\n".join(lines),
        alarm_at=from_ms(local_ms(day.on, _minute(services), zone_of(services))),
    )


def _minute(services: Services) -> int:
    return int(setting(services, "nudge_minute"))
