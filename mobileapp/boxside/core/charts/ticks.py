"""Where an axis is marked, given its room: round numbers, calendar days, names; never one over another."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from itertools import pairwise

from boxside.core.values.chart import Axis, AxisKind, Tick

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MOST_TICKS = 9
_DAY_STEPS = (1, 2, 7, 14)
_MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200)
_FIRST_MONDAY = date(1, 1, 1).toordinal()


def nice_number(x: float, is_rounded: bool) -> float:
    """Return 1, 2, 5 or 10 times a power of ten: near x where rounded, else the least not below it.

    Raises
    ------
    ValueError : if x is not a finite number above 0

    References
    ----------
    Heckbert P.S. 1990, Nice numbers for graph labels, Graphics Gems, 61-63, `nicenum`.
    """
    if not (math.isfinite(x) and x > 0):
        raise ValueError(f"no nice number near {x}")
    power = 10.0 ** math.floor(math.log10(x))
    part = x / power
    limits = (1.5, 3.0, 7.0) if is_rounded else (1.0, 2.0, 5.0)
    for nice, limit in zip((1.0, 2.0, 5.0), limits, strict=True):
        if part < limit or (not is_rounded and part <= limit):
            return nice * power
    return 10.0 * power


def loose_step(lo: float, hi: float, n: int) -> float:
    """Return the step between about n round positions that cover lo to hi.

    References
    ----------
    Heckbert P.S. 1990, Nice numbers for graph labels, Graphics Gems, 61-63, `loose_label`.
    """
    return nice_number(nice_number(hi - lo, is_rounded=False) / (n - 1), is_rounded=True)


def number_label(at: float, step: float) -> str:
    """Return a position as text, with no more decimals than the step has and a true minus sign."""
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{at:.{digits}f}" if abs(at) < 1e9 else f"{at:.3g}"
    trimmed = text.rstrip("0").rstrip(".") if "." in text else text
    return trimmed.replace("-", "−") if float(text) else "0"


def number_choices(axis: Axis, least_step: float = 0.0) -> Iterator[tuple[Tick, ...]]:
    """Yield sets of round ticks inside an axis, each with fewer of them than the last."""
    seen: set[float] = set()
    ticks: tuple[Tick, ...] = ()
    for n in range(_MOST_TICKS, 1, -1):
        step = max(loose_step(axis.minimum, axis.maximum, n), least_step)
        if step in seen:
            continue
        seen.add(step)
        first, last = math.ceil(axis.minimum / step - 1e-6), math.floor(axis.maximum / step + 1e-6)
        if last >= first:
            spots = (i * step for i in range(first, last + 1))
            ticks = tuple(Tick(at, number_label(at, step)) for at in spots)
            yield ticks
    # Where two labels have no room the last one alone still tells the size of what is drawn.
    yield ticks[-1:]


def day_choices(axis: Axis) -> Iterator[tuple[Tick, ...]]:
    """Yield sets of ticks on days, Mondays, and first days of months and years, finest first."""
    first, last = math.ceil(axis.minimum), math.floor(axis.maximum)
    for every in _DAY_STEPS:
        if (last - first) // every <= 2 * _MOST_TICKS:
            start = first + (-(first - _FIRST_MONDAY)) % every
            yield _day_ticks([date.fromordinal(at) for at in range(start, last + 1, every)])
    for months in _MONTH_STEPS:
        days = _month_starts(date.fromordinal(first), date.fromordinal(last), months)
        if days:
            yield _month_ticks(days)
    yield _day_ticks([date.fromordinal(first), date.fromordinal(last)])
    yield _day_ticks([date.fromordinal(first)])


def _day_ticks(days: list[date]) -> tuple[Tick, ...]:
    return tuple(Tick(float(day.toordinal()), f"{day.day} {MONTHS[day.month - 1]}") for day in days)


def _month_ticks(days: list[date]) -> tuple[Tick, ...]:
    """January, and the first of all where no January follows, carry the year."""
    names_year = {day for day in days if day.month == 1} or {days[0]}
    if len(days) > 1 and {day.month for day in days} == {1}:
        return tuple(Tick(float(day.toordinal()), str(day.year)) for day in days)
    return tuple(
        Tick(float(day.toordinal()), MONTHS[day.month - 1] + (f" {day.year}" if day in names_year else ""))
        for day in days
    )


def _month_starts(first: date, last: date, every: int) -> list[date]:
    count, end = first.year * 12 + first.month - 1, last.year * 12 + last.month - 1
    count += (-count) % every
    starts = [date(at // 12, at % 12 + 1, 1) for at in range(count, end + 1, every) if at >= 12]
    return [day for day in starts if first <= day <= last]


def thinned_choices(ticks: tuple[Tick, ...]) -> Iterator[tuple[Tick, ...]]:
    """Yield the given ticks, then every second of them, every third, and so on."""
    for every in range(1, len(ticks) + 1):
        yield ticks[::every]


def choices(axis: Axis, least_step: float = 0.0) -> Iterator[tuple[Tick, ...]]:
    """Yield the sets of ticks that suit an axis, finest first; ticks with words of their own stay as they are."""
    if axis.kind is AxisKind.CATEGORY or not _is_plain(axis):
        return thinned_choices(axis.ticks)
    return day_choices(axis) if axis.kind is AxisKind.DATE else number_choices(axis, least_step)


def _is_plain(axis: Axis) -> bool:
    if axis.kind is AxisKind.DATE:
        return all(tick.label == _iso(tick.at) for tick in axis.ticks)
    return all(tick.label == f"{tick.at:.10g}" for tick in axis.ticks)


def _iso(at: float) -> str:
    return (date.min + timedelta(days=at - 1)).isoformat()


Span = tuple[float, float]


def fitting(
    sets: Iterator[tuple[Tick, ...]], span_of: Callable[[Tick], Span], gap: float, most: int
) -> tuple[Tick, ...]:
    """Return the first set with at most `most` ticks whose labels keep `gap` between them; or none.

    Parameters
    ----------
    span_of : start and end of the label of a tick along the axis, px
    """
    for ticks in sets:
        spans = sorted(span_of(tick) for tick in ticks)
        if len(ticks) <= most and all(after[0] - before[1] >= gap for before, after in pairwise(spans)):
            return ticks
    return ()


def place_label(axis: Axis, at: float) -> str:
    """Return a position on an axis in words: the day, the name of the place, or the number with its unit."""
    if axis.kind is AxisKind.DATE:
        return _iso(float(math.floor(at)))
    if axis.kind is AxisKind.CATEGORY:
        near = min(axis.ticks, key=lambda tick: abs(tick.at - at), default=None)
        return near.label if near is not None else ""
    shown = _shown(at).replace("-", "−")
    return f"{shown} {axis.unit}".strip() if axis.unit != "share" else shown


def _shown(value: float) -> str:
    """Whole numbers whole, others to three digits: more would claim more than a colony can tell."""
    if abs(value) >= 1e9:
        return f"{value:.3g}"
    return f"{value:.0f}" if value == int(value) or abs(value) >= 1000 else f"{value:.3g}"
