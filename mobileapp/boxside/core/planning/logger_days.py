"""Lowest and highest temperature of each day from a logger's rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

from boxside.core.planning.logger_csv import LoggerRow
from boxside.core.planning.logger_dates import in_zone
from boxside.core.values.forecast import DayTemperature

# A day whose measurements leave a longer gap may have missed its coldest or warmest hour (common practice,
# no source).
LONGEST_GAP_H = 6.0


@dataclass(frozen=True, slots=True)
class LoggerDays:
    """The days with their extremes in order, and those left out because too little of them was measured."""

    days: tuple[DayTemperature, ...]
    partial: tuple[date, ...]


def daily_extremes(
    rows: Sequence[LoggerRow],
    offset_min_at: Callable[[datetime], int],
    longest_gap_h: float = LONGEST_GAP_H,
) -> LoggerDays:
    """Return each calendar day's lowest and highest temperature.

    Parameters
    ----------
    rows : from `read_logger`, in any order
    offset_min_at : the keeper's offset from UTC in minutes at a UTC moment; used only for times that were
        written with an offset, all others are wall-clock times already
    longest_gap_h : days with a longer stretch unmeasured, midnight to midnight, are left out
    """
    by_day: dict[date, list[tuple[datetime, float]]] = {}
    for row in rows:
        at = _wall(row, offset_min_at)
        by_day.setdefault(at.date(), []).append((at, row.temperature_c))
    days: list[DayTemperature] = []
    partial: list[date] = []
    for on in sorted(by_day):
        values = [celsius for _, celsius in by_day[on]]
        if _widest_gap_h(on, [at for at, _ in by_day[on]]) > longest_gap_h:
            partial.append(on)
        else:
            days.append(DayTemperature(on, min(values), max(values)))
    return LoggerDays(tuple(days), tuple(partial))


def _wall(row: LoggerRow, offset_min_at: Callable[[datetime], int]) -> datetime:
    if row.stamp.offset_min is None:
        return row.stamp.at
    return in_zone(row.stamp, offset_min_at(in_zone(row.stamp, 0)))


def _widest_gap_h(on: date, moments: Sequence[datetime]) -> float:
    midnight = datetime(on.year, on.month, on.day)  # noqa: DTZ001 (wall-clock times throughout)
    edges = [midnight, *sorted(moments), midnight + timedelta(days=1)]
    return max((b - a).total_seconds() / 3600 for a, b in pairwise(edges))
