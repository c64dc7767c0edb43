"""Winter rests as spans of days: those that have begun, and those that come again as they did before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from boxside.actions.context import profile, zone_of
from boxside.actions.services import Services
from boxside.actions.stage_groups import Group
from boxside.core.values.moments import day_of
from boxside.store import outlook
from boxside.store.outlook import Logged

_YEARS_AHEAD = 4


@dataclass(frozen=True, slots=True)
class RestSpan:
    """From the first day of a rest up to, not including, the day of waking; `begun` where it is one now.

    A span that has not begun repeats the dates of the last rest of the box or its area.
    """

    from_on: date
    until_on: date
    begun: bool

    def holds(self, day: date) -> bool:
        """Return whether a day lies within the rest."""
        return self.from_on <= day < self.until_on


@dataclass(frozen=True, slots=True)
class Rests:
    """The rests of boxes and areas by id, from the newest that was logged at each."""

    spans: dict[str, tuple[RestSpan, ...]]

    def of(self, box: str, area: str) -> tuple[RestSpan, ...]:
        """Return a box's rests in order: its own, else its area's."""
        return self.spans.get(box) or self.spans.get(area, ())

    def now(self, box: str, area: str) -> RestSpan | None:
        """Return the rest that a box is in, None where it is awake."""
        return next((s for key in (box, area) for s in self.spans.get(key, ()) if s.begun), None)

    def after(self, group: Group, day: date) -> date:
        """Return a day, put off to the waking where it falls in the box's winter rest."""
        for span in self.of(group.box.id, group.area):
            if span.holds(day):
                return span.until_on
        return day


def rests_of(services: Services) -> Rests:
    """Return the rests that have begun or are usual; a few statements however long the log."""
    kinds = ("rest_began", "rest_ended")
    spans: dict[str, tuple[RestSpan, ...]] = {}
    for subject_type in ("area", "box"):
        newest: dict[str, dict[str, Logged]] = {}
        for item in outlook.newest_of(services.store, subject_type, kinds):
            newest.setdefault(item.subject, {})[item.kind] = item
        for subject, found in newest.items():
            if "rest_began" in found:
                spans[subject] = _spans(services, found["rest_began"], found.get("rest_ended"))
    return Rests(spans)


def _spans(services: Services, began: Logged, ended: Logged | None) -> tuple[RestSpan, ...]:
    zone = zone_of(services)
    since = day_of(began.at_ms, zone)
    until = began.fields.get("until")
    planned = date.fromisoformat(until) if isinstance(until, str) else None
    over = planned or since + timedelta(days=profile(services).days("rest_days"))
    is_open = ended is None or (ended.at_ms, ended.event) < (began.at_ms, began.event)
    first = [RestSpan(since, max(over, since), begun=True)] if is_open else []
    usual = planned or (day_of(ended.at_ms, zone) if ended is not None and not is_open else over)
    later = [RestSpan(_years(since, n), _years(usual, n), begun=False) for n in range(1, _YEARS_AHEAD + 1)]
    return (*first, *later)


def _years(day: date, n: int) -> date:
    """Return the same day some years on; 29 February becomes the 28th."""
    last = 28 if (day.month, day.day) == (2, 29) else day.day
    return date(day.year + n, day.month, last)
