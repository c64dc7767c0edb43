"""Day length as the animals have it: daylight, a lamp's hours, a dark cupboard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo

from boxside.core.values.errors import EntryError
from boxside.core.values.moments import from_ms, local_ms


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time, both ends aware datetimes."""

    from_at: datetime
    until_at: datetime

    @property
    def hours(self) -> float:
        """Length in hours that pass, not in hours of the wall clock."""
        return (self.until_at.astimezone(UTC) - self.from_at.astimezone(UTC)).total_seconds() / 3600


@dataclass(frozen=True, slots=True)
class LampHours:
    """When a lamp burns each day: minutes after midnight by the wall clock, `off_min` before `on_min` for
    a lamp that burns over midnight; equal for one that always burns."""

    on_min: int
    off_min: int


@dataclass(frozen=True, slots=True)
class LightDay:
    """What a box gets in one calendar day: hours of light and the longest dark stretch.

    `dark` is None where it is never dark; a stretch that reaches over midnight is cut at the day's ends.
    """

    light_h: float
    dark: Span | None


def light_day(day: date, zone: tzinfo, daylight: Sequence[Span] = (), lamps: Sequence[LampHours] = ()) -> LightDay:
    """Return the light that a box gets on a calendar day.

    Parameters
    ----------
    day : calendar day in `zone`; it has 23 or 25 hours where clocks change
    zone : the keeper's zone
    daylight : stretches in which daylight reaches the box, as from sunrise to sunset or civil dawn to dusk;
        empty for a dark cupboard
    lamps : lamps that reach the box

    Raises
    ------
    EntryError : a lamp time that is no minute of a day

    Notes
    -----
    Any light counts as light; how dim a lamp must be not to matter to larvae is not known (common practice,
    no source: what lets you read disturbs them).
    """
    # All in UTC: datetimes of one zone are compared and subtracted by the wall clock, which jumps.
    midnight = from_ms(local_ms(day, 0, zone))
    end = from_ms(local_ms(day + timedelta(days=1), 0, zone))
    lit = [Span(s.from_at.astimezone(UTC), s.until_at.astimezone(UTC)) for s in daylight]
    for lamp in lamps:
        lit.extend(_lamp_spans(lamp, day, zone))
    merged = _merged([Span(max(s.from_at, midnight), min(s.until_at, end)) for s in lit])
    edges = [midnight, *(t for span in merged for t in (span.from_at, span.until_at)), end]
    dark = [Span(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a]
    longest = max(dark, key=lambda span: span.hours, default=None)
    light_h = sum(span.hours for span in merged)
    if longest is None:
        return LightDay(light_h, None)
    return LightDay(light_h, Span(longest.from_at.astimezone(zone), longest.until_at.astimezone(zone)))


def _lamp_spans(lamp: LampHours, day: date, zone: tzinfo) -> list[Span]:
    """The lamp's stretches that may touch the day: begun on it or on the day before."""
    if not (0 <= lamp.on_min < 1440 and 0 <= lamp.off_min < 1440):
        raise EntryError("A lamp's time must be between 0:00 and 23:59. Nothing was computed. Correct it.")
    over_midnight = lamp.off_min <= lamp.on_min
    spans = []
    for begun in (day - timedelta(days=1), day):
        ended = begun + timedelta(days=1) if over_midnight else begun
        on, off = local_ms(begun, lamp.on_min, zone), local_ms(ended, lamp.off_min, zone)
        spans.append(Span(from_ms(on), from_ms(off)))
    return spans


def _merged(spans: Sequence[Span]) -> list[Span]:
    merged: list[Span] = []
    for span in sorted((s for s in spans if s.until_at > s.from_at), key=lambda s: s.from_at):
        if merged and span.from_at <= merged[-1].until_at:
            merged[-1] = Span(merged[-1].from_at, max(merged[-1].until_at, span.until_at))
        else:
            merged.append(span)
    return merged
