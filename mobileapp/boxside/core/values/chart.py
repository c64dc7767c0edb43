"""A chart as data: what is drawn, in numbers and words, before anything has a colour or a pixel.

Screens, the export and tests read the same chart. Colours are roles that a palette fills in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum


class AxisKind(StrEnum):
    """What the positions along an axis are: numbers, days (`date.toordinal`), or places in a list."""

    NUMBER = "number"
    DATE = "date"
    CATEGORY = "category"


class Role(StrEnum):
    """What a colour is for; the palette decides which colour that is."""

    MAIN = "main"
    OTHER = "other"
    PAST = "past"
    QUIET = "quiet"
    GOOD = "good"
    WARN = "warn"
    BAD = "bad"
    EGG = "egg"
    LARVA = "larva"
    PREPUPA = "prepupa"
    PUPA = "pupa"
    ADULT = "adult"


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: where it stands and what is written beside it."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis from `minimum` to `maximum`, with its label, unit, kind and ticks."""

    label: str
    unit: str
    kind: AxisKind
    minimum: float
    maximum: float
    ticks: tuple[Tick, ...]

    def __post_init__(self) -> None:
        if not self.minimum < self.maximum:
            raise ValueError(f"axis {self.label!r} runs from {self.minimum} to {self.maximum}: no length")


@dataclass(frozen=True, slots=True)
class Steps:
    """A line of steps: from x[i] to x[i+1] it stands at y[i]; `low` and `high` are its band, or empty.

    `ends_at` is how far the last step reaches; `marks` are positions marked on the line, such as the
    days on which animals left observation; `marks_name` says in the legend what they mean.
    """

    name: str
    role: Role
    x: tuple[float, ...]
    y: tuple[float, ...]
    ends_at: float
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()
    marks: tuple[float, ...] = ()
    marks_name: str = ""

    def __post_init__(self) -> None:
        _same_length(self.name, self.x, self.y)
        if self.low or self.high:
            _same_length(self.name, self.x, self.low, self.high)


@dataclass(frozen=True, slots=True)
class QuartileBox:
    """Lower quartile, median and upper quartile of what is seen at `x`."""

    x: float
    lower: float
    median: float
    upper: float


@dataclass(frozen=True, slots=True)
class Dots:
    """One dot for each value, with a quartile box where there are enough of them to summarise."""

    name: str
    role: Role
    x: tuple[float, ...]
    y: tuple[float, ...]
    boxes: tuple[QuartileBox, ...] = ()

    def __post_init__(self) -> None:
        _same_length(self.name, self.x, self.y)


@dataclass(frozen=True, slots=True)
class Bars:
    """One bar from zero to y[i] at each x[i]; `low` and `high` are whiskers, or empty."""

    name: str
    role: Role
    x: tuple[float, ...]
    y: tuple[float, ...]
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        _same_length(self.name, self.x, self.y)
        if self.low or self.high:
            _same_length(self.name, self.x, self.low, self.high)


@dataclass(frozen=True, slots=True)
class Bands:
    """One layer of a stacked timeline: between `low` and `high` at each x; layers do not overlap."""

    name: str
    role: Role
    x: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]

    def __post_init__(self) -> None:
        _same_length(self.name, self.x, self.low, self.high)


Series = Steps | Dots | Bars | Bands


@dataclass(frozen=True, slots=True)
class Chart:
    """A titled picture of some series over two axes; `notes` say what limits it.

    `nothing` says, of a chart without a point, what is still missing: it is shown after "nothing yet".
    """

    title: str
    x: Axis
    y: Axis
    series: tuple[Series, ...]
    notes: tuple[str, ...] = ()
    nothing: str = ""


def stacked(layers: tuple[tuple[str, Role, tuple[float, ...]], ...], x: tuple[float, ...]) -> tuple[Bands, ...]:
    """Return the bands of a stacked timeline, first layer at the bottom.

    Parameters
    ----------
    layers : name, role and one height (0 or more) for each x
    x : positions shared by all layers

    Raises
    ------
    ValueError : if a layer has another length than x
    """
    base = (0.0,) * len(x)
    bands = []
    for name, role, heights in layers:
        _same_length(name, x, heights)
        top = tuple(low + height for low, height in zip(base, heights, strict=True))
        bands.append(Bands(name, role, x, base, top))
        base = top
    return tuple(bands)


def nice_ticks(lo: float, hi: float, n: int) -> tuple[float, ...]:
    """Return round positions, 1, 2 or 5 times a power of ten apart, that cover lo to hi.

    Parameters
    ----------
    lo, hi : ends of what is shown; equal ends are widened to a range that holds them
    n : about how many ticks are wanted, 2 or more; the result has at most 1.5 n + 2

    Raises
    ------
    ValueError : if an end is not finite, hi is below lo, or n is below 2

    References
    ----------
    Heckbert P.S. 1990, Nice numbers for graph labels, Graphics Gems, 61-63 (from memory).

    Examples
    --------
    >>> nice_ticks(0, 23, 5)
    (0.0, 5.0, 10.0, 15.0, 20.0, 25.0)
    """
    if not (math.isfinite(lo) and math.isfinite(hi)) or hi < lo or n < 2:
        raise ValueError(f"no ticks between {lo} and {hi} with n {n}")
    if hi - lo <= 1e-12 * max(abs(lo), abs(hi)):
        pad = abs(lo) / 2 or 0.5
        lo, hi = lo - pad, hi + pad
    step = _nice_step((hi - lo) / (n - 1))
    first, last = math.floor(lo / step + 1e-9), math.ceil(hi / step - 1e-9)
    digits = max(0, -math.floor(math.log10(step)))
    return tuple(round(i * step, digits) + 0.0 for i in range(first, last + 1))


def number_axis(label: str, unit: str, lo: float, hi: float, n: int = 5) -> Axis:
    """Return a number axis over round ticks that cover lo to hi."""
    ticks = nice_ticks(lo, hi, n)
    marks = tuple(Tick(at, f"{at:.10g}") for at in ticks)
    return Axis(label, unit, AxisKind.NUMBER, ticks[0], ticks[-1], marks)


def date_axis(label: str, first: date, last: date, n: int = 5) -> Axis:
    """Return a day axis from first to last, with at most n ticks evenly spaced in whole days, ISO labels.

    Raises
    ------
    ValueError : if last is before first, or n is below 2
    """
    if last < first or n < 2:
        raise ValueError(f"no day axis from {first} to {last} with n {n}")
    span = (last - first).days
    every = max(1, math.ceil(span / (n - 1)))
    days = [first + timedelta(days=i) for i in range(0, span + 1, every)]
    ticks = tuple(Tick(float(day.toordinal()), day.isoformat()) for day in days)
    end = max(last.toordinal(), first.toordinal() + 1)
    return Axis(label, "", AxisKind.DATE, float(first.toordinal()), float(end), ticks)


def category_axis(label: str, names: tuple[str, ...]) -> Axis:
    """Return an axis with one place for each name, at 0, 1, 2 and so on.

    Raises
    ------
    ValueError : if there is no name
    """
    if not names:
        raise ValueError(f"axis {label!r} has no categories")
    ticks = tuple(Tick(float(i), name) for i, name in enumerate(names))
    return Axis(label, "", AxisKind.CATEGORY, -0.5, len(names) - 0.5, ticks)


def _nice_step(raw: float) -> float:
    power: float = 10.0 ** math.floor(math.log10(raw))
    part = raw / power
    for nice, below in ((1.0, 1.5), (2.0, 3.0), (5.0, 7.0)):
        if part < below:
            return nice * power
    return 10.0 * power


def _same_length(name: str, *columns: tuple[float, ...]) -> None:
    if len({len(column) for column in columns}) > 1:
        raise ValueError(f"series {name!r} has columns of unequal length")
