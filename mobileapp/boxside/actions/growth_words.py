"""Growth in words: sizes, rates with their intervals, instars, what to expect."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from datetime import date
from itertools import pairwise

from boxside.actions.measured_rows import Measuring
from boxside.actions.wording import MONTHS
from boxside.core.growth import (
    Body,
    CannotTell,
    InstarSplit,
    NearMature,
    growth_line,
    growth_per_day,
    growth_per_moult,
)
from boxside.core.growth.expected import LIMITS as EXPECTED_LIMITS
from boxside.core.growth.rates import LIMITS as RATE_LIMITS
from boxside.core.values.estimates import Estimate
from boxside.core.values.profile import Profile

LEAST_GAP_DAYS = 5
"""Measurings nearer than this say nothing of growth: larvae stretch by more; common practice, no source."""


def sizes(lengths: Sequence[float], first: date, last: date) -> tuple[tuple[str, str], ...]:
    """Return number, median, quartiles and range of the bodies measured last."""
    n, middle = len(lengths), statistics.median(lengths)
    said = f"{middle:.1f} mm"
    if n >= 4:
        low, _, high = statistics.quantiles(lengths, n=4, method="inclusive")
        said += f", half of them {low:.1f} to {high:.1f} mm"
    if n > 1:
        said += f", all {min(lengths):.1f} to {max(lengths):.1f} mm"
    when = f"on {last.isoformat()}" if first == last else f"from {first.isoformat()} to {last.isoformat()}"
    return (("Measured", f"{n} {when}"), ("Median", said))


def rates(rows: Sequence[Measuring], latest: Sequence[Measuring], box: str) -> tuple[tuple[str, str], ...]:
    """Return growth per day since the measuring before, over all of them, and per moult; what there is of it.

    `box` is the box that is asked about, whatever boxes its animals came from; empty for a cohort, whose boxes are
    each compared with themselves: of two boxes measured on two days the difference is no growth.
    """
    return (*_per_day(rows, latest, box), *_over_all(rows), *_per_moult(rows))


def _per_day(rows: Sequence[Measuring], latest: Sequence[Measuring], box: str) -> tuple[tuple[str, str], ...]:
    before: list[Measuring] = []
    after: list[Measuring] = []
    gaps: list[int] = []
    for place in dict.fromkeys(box or row.box for row in latest):
        now = [row for row in latest if box or row.box == place]
        past = [r for r in rows if (box or r.box == place) and (now[0].day - r.day).days >= LEAST_GAP_DAYS]
        then = [row for row in past if row.day == past[-1].day]
        before, after = [*before, *then], [*after, *(now if then else [])]
        gaps += [(row.day - then[0].day).days for row in (now if then else []) for _ in row.lengths_mm]
    if not gaps:
        return ()
    mm = [[length for row in side for length in row.lengths_mm] for side in (before, after)]
    growth = growth_per_day(mm[0], mm[1], statistics.mean(gaps))
    said = f"{_pair(growth.mm, 3)} mm, {_pair(growth.relative, 2, 100.0)} %"
    return ((f"Growth per day since {min(row.day for row in before).isoformat()}", said),)


def _over_all(rows: Sequence[Measuring]) -> tuple[tuple[str, str], ...]:
    bodies = [Body(float(row.day.toordinal()), length) for row in rows for length in row.lengths_mm]
    if len({row.day for row in rows}) < 3 or len(bodies) < 3:
        return ()
    return ((f"Growth per day since {rows[0].day.isoformat()}", f"{_pair(growth_line(bodies), 2, 100.0)} %"),)


def _per_moult(rows: Sequence[Measuring]) -> tuple[tuple[str, str], ...]:
    """Return the ratio of neighbouring instars that were known when they were measured."""
    by_instar: dict[int, list[float]] = {}
    for row in rows:
        if row.instar:
            by_instar.setdefault(row.instar, []).extend(row.lengths_mm)
    found = []
    for small, large in pairwise(sorted(by_instar)):
        if large == small + 1:
            ratio = growth_per_moult(by_instar[small], by_instar[large])
            found.append((f"Growth at the moult from instar {small} to {large}", f"{_pair(ratio, 2)} times"))
    return tuple(found)


def _pair(estimate: Estimate, digits: int, times: float = 1.0) -> str:
    """Return a number with its interval."""
    said = f"{times * estimate.value:.{digits}f}"
    interval = estimate.interval
    if interval is None:
        return said
    return f"{said} ({times * interval.low:.{digits}f} to {times * interval.high:.{digits}f})"


def expected(age: float, ends: tuple[float, float], lengths: Sequence[float]) -> str:
    """Return what the profile expects at an age, and where the bodies stand."""
    low, high = ends
    middle = statistics.median(lengths)
    where = "behind it" if middle < low else "ahead of it" if middle > high else "within it"
    return f"{low:.1f} to {high:.1f} mm at {age:.0f} days by the profile; the median is {where}"


def runts(n: int) -> str:
    """Return how many stay behind."""
    return f"{n} stay{'s' if n == 1 else ''} far behind"


def runts_why(lengths: Sequence[float]) -> str:
    """Return how long the smallest are, and what to look at first."""
    said = ", ".join(f"{length:.1f}" for length in sorted(lengths)[:6])
    return f"{said} mm, less than two thirds of the median. Curled ones measure short: look before you grade."


def pupation(near: NearMature, own: Profile) -> str:
    """Return how many are near mature size, and in which months the species pupates."""
    first, last = own.days("watch.pupation_from_month"), own.days("watch.pupation_to_month")
    months = f"{MONTHS[first - 1]} to {MONTHS[last - 1]}"
    return f"{near.reason} Season decides when ({months}): size only allows it."


def groups(split: InstarSplit) -> str:
    """Return the groups that sizes fall into."""
    if split.ratio is None:
        return f"Sizes form one group about {split.typical_mm[0]:.1f} mm."
    said = ", ".join(f"{mm:.1f}" for mm in split.typical_mm)
    return f"Sizes form {len(split.typical_mm)} groups, about {said} mm, {split.ratio:.2f} times from one to the next."


def cannot_tell(split: CannotTell) -> str:
    """Return why sizes alone show no instars."""
    return f"Sizes alone cannot tell instars: {'; '.join(split.reasons)}. The guess is by the profile."


def notes(is_aged: bool) -> tuple[str, ...]:
    """Return the limits."""
    undated = () if is_aged else ("The day of hatching is not known: days count from the first measuring.",)
    return (*undated, *RATE_LIMITS, *EXPECTED_LIMITS)
