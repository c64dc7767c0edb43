"""Numbers of the season in words: shares with their intervals, days, and the limits of methods."""

from __future__ import annotations

import math
from collections.abc import Iterable

from boxside.core.survival import QuantileRange
from boxside.core.values.estimates import Estimate, Interval


def pct(share: float) -> str:
    """Return a share in percent, whole above ten and one decimal below.

    Examples
    --------
    >>> pct(0.613), pct(0.052)
    ('61 %', '5.2 %')
    """
    return f"{share * 100:.0f} %" if share >= 0.1 or share == 0 else f"{share * 100:.1f} %"


def share_words(found: Estimate | None) -> str:
    """Return a share with its interval and the number it rests on; what is not known says so."""
    if found is None:
        return "not known yet"
    return f"{pct(found.value)} ({range_words(found.interval)}; n {found.n})"


def range_words(interval: Interval | None) -> str:
    """Return an interval of shares in percent."""
    if interval is None or math.isnan(interval.low) or math.isnan(interval.high):
        return "no interval"
    return f"{interval.low * 100:.0f}–{interval.high * 100:.0f} %"


def days_words(low: float, high: float) -> str:
    """Return an interval of days; one that is open says from when."""
    if math.isinf(high):
        return "not reached" if math.isinf(low) else f"more than {low:.0f} d"
    return f"{low:.0f} d" if low == high else f"{low:.0f}–{high:.0f} d"


def quantile_words(found: QuantileRange) -> str:
    """Return the days between which a share of animals is reached.

    Examples
    --------
    >>> quantile_words(QuantileRange(0.5, 7.0, 9.0, 8.2))
    '8–9 d'
    """
    if math.isinf(found.by):
        return f"more than {found.after:.0f} d"
    first = math.floor(found.after) + 1
    return days_words(min(first, found.by), found.by)


def p_words(p: float) -> str:
    """Return a p-value as it is read."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


def unique(*limits: Iterable[str]) -> tuple[str, ...]:
    """Return the limits of several methods, each once."""
    return tuple(dict.fromkeys(limit for part in limits for limit in part))
