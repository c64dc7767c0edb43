"""Evenings: which one a moment belongs to, its sunset, and when something glowed in minutes after it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from boxside.actions.context import setting
from boxside.actions.services import Services
from boxside.core.development import Crossing, SunDay, sun_day
from boxside.core.values.dusk import GlowSpan, SunLine
from boxside.core.values.event import Json
from boxside.core.values.moments import from_ms, local_ms, to_ms
from boxside.store.lineage import Glow

NO_PLACE = "Set latitude and longitude to see times after sunset."
_NOON_H = 12
_MINUTE_MS = 60_000


@dataclass(frozen=True, slots=True)
class Sunset:
    """Sunset of one evening, as an instant; `none` says why there is none."""

    on: date
    at_ms: int | None
    dusk_ms: int | None
    none: str = ""


def evening_of(ms: int, zone: ZoneInfo) -> date:
    """Return the day on which an evening began: from noon to noon, so that a night is one evening."""
    moment = from_ms(ms, zone)
    return moment.date() if moment.hour >= _NOON_H else moment.date() - timedelta(days=1)


def place(services: Services) -> tuple[float, float] | None:
    """Return latitude and longitude in degrees, None where they are not set or make no sense."""
    try:
        return float(setting(services, "latitude")), float(setting(services, "longitude"))
    except ValueError:
        return None


def sunset_of(services: Services, on: date, zone: ZoneInfo) -> Sunset:
    """Return the sunset of an evening at the keeper's place."""
    at = place(services)
    if at is None:
        return Sunset(on, None, None, NO_PLACE)
    sun = sun_day(on, *at, zone)
    if sun.horizon.sinks_at is None:
        return Sunset(on, None, None, _why_none(sun))
    dusk = sun.civil.sinks_at
    return Sunset(on, to_ms(sun.horizon.sinks_at), to_ms(dusk) if dusk else None)


def _why_none(sun: SunDay) -> str:
    up = sun.horizon.crossing is not Crossing.ALWAYS_BELOW
    return "The sun does not set on this day." if up else "The sun does not rise on this day."


def sun_line(sunset: Sunset, zone: ZoneInfo, now_ms: int) -> SunLine:
    """Return sunset and dusk in words, and where now lies."""
    if sunset.at_ms is None:
        return SunLine(sunset.none)
    at, now_min = clock_text(sunset.at_ms, zone), minutes_after(sunset, now_ms)
    dark = clock_text(sunset.dusk_ms, zone) if sunset.dusk_ms is not None else ""
    until = f", dusk ends {dark}" if dark else ", dusk lasts all night"
    is_this = now_min is not None and abs(now_min) < 12 * 60
    return SunLine(f"Sunset {at}{until}" + (f"; now {after_text(now_min)}." if is_this else "."), at, dark, now_min)


def minutes_after(sunset: Sunset, ms: int | None) -> float | None:
    """Return how many minutes that pass lie between sunset and an instant; negative before sunset."""
    if sunset.at_ms is None or ms is None:
        return None
    return (ms - sunset.at_ms) / _MINUTE_MS


def after_text(minutes: float | None) -> str:
    """Return `38 min after sunset`, `12 min before sunset`, `at sunset`; empty where it is not known."""
    if minutes is None:
        return ""
    whole = round(abs(minutes))
    if whole == 0:
        return "at sunset"
    hours, left = divmod(whole, 60)
    span = f"{hours} h {left:02d} min" if hours else f"{left} min"
    return f"{span} {'after' if minutes > 0 else 'before'} sunset"


def clock_text(ms: int, zone: ZoneInfo) -> str:
    """Return the time of day."""
    return f"{from_ms(ms, zone):%H:%M}"


@dataclass(frozen=True, slots=True)
class _Span:
    on: date
    who: str
    from_ms: int
    until_ms: int | None
    n: int
    event: str


def glow_spans(services: Services, glows: Iterable[Glow], zone: ZoneInfo) -> tuple[GlowSpan, ...]:
    """Return the glows of a box, newest first: what was seen twice in one evening without an end is one glow."""
    found: list[_Span] = []
    for glow in glows:
        open_one = next((span for span in reversed(found) if _is_open(span, glow, zone)), None)
        if glow.kind == "glowing":
            _lit(found, open_one, _span(glow, zone))
        elif open_one is not None:
            found[found.index(open_one)] = replace(open_one, until_ms=glow.at_ms)
    sunsets: dict[date, Sunset] = {}
    for span in found:
        sunsets.setdefault(span.on, sunset_of(services, span.on, zone))
    return tuple(_shown(span, sunsets[span.on], zone) for span in reversed(found))


def _is_open(span: _Span, glow: Glow, zone: ZoneInfo) -> bool:
    """An end without a name ends any glow of the evening; a named one its own."""
    who = _who(glow.fields)
    same = span.who == who or (glow.kind == "glow_ended" and not who)
    return same and span.until_ms is None and span.on == evening_of(glow.at_ms, zone)


def _lit(found: list[_Span], before: _Span | None, span: _Span) -> None:
    if before is None:
        found.append(span)
        return
    first = min(before.from_ms, span.from_ms)
    found[found.index(before)] = replace(
        before, from_ms=first, until_ms=span.until_ms, n=max(before.n, span.n), event=span.event
    )


def _span(glow: Glow, zone: ZoneInfo) -> _Span:
    on, n = evening_of(glow.at_ms, zone), glow.fields.get("n")
    began = _moment(on, glow.fields.get("from_min"), zone)
    ended = _moment(on, glow.fields.get("until_min"), zone)
    start = glow.at_ms if began is None else began
    return _Span(on, _who(glow.fields), start, ended, n if isinstance(n, int) else 0, glow.event)


def _who(fields: Mapping[str, Json]) -> str:
    who = fields.get("individual")
    return who if isinstance(who, str) else ""


def _moment(on: date, minute: Json, zone: ZoneInfo) -> int | None:
    """A minute of the wall clock in one evening: those before noon are of the day after."""
    if isinstance(minute, bool) or not isinstance(minute, int):
        return None
    day = on if minute >= _NOON_H * 60 else on + timedelta(days=1)
    return local_ms(day, minute, zone)


def _shown(span: _Span, sunset: Sunset, zone: ZoneInfo) -> GlowSpan:
    began, ended = clock_text(span.from_ms, zone), ""
    if span.until_ms is not None:
        ended = clock_text(span.until_ms, zone)
    after = after_text(minutes_after(sunset, span.from_ms))
    when = f"{began}–{ended}" if ended else f"since {began}"
    many = f"{span.n} glowed " if span.n > 1 else ""
    text = f"{many}{when}" + (f", {'from ' if ended else ''}{after}" if after else "")
    return GlowSpan(
        span.on, began, ended, minutes_after(sunset, span.from_ms), minutes_after(sunset, span.until_ms), span.n, text,
        span.event,
    )  # fmt: skip
