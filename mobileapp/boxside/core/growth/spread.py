"""Whether animals of one box have grown apart: runts, and when to grade by size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.growth.student import positive


@dataclass(frozen=True, slots=True)
class SpreadRule:
    """When a spread is too wide; all common practice, no source.

    `widest_ratio` of the length that nine tenths do not exceed to that which one tenth does not: 1.6 is
    about two moults of a fifth to a quarter each. A runt is shorter than `runt_frac` of the median.
    Fewer than `least_n` bodies are not judged.
    """

    widest_ratio: float = 1.6
    runt_frac: float = 0.65
    least_n: int = 5


@dataclass(frozen=True, slots=True)
class SizeSpread:
    """How wide the sizes of a box lie: `ratio` of `high_mm` (nine tenths) to `low_mm` (one tenth).

    `runts` are places in the list given, smallest first; `grade_by_size` says to part large from small,
    and `reason` why, or why not.
    """

    n: int
    median_mm: float
    low_mm: float
    high_mm: float
    ratio: float
    runts: tuple[int, ...]
    grade_by_size: bool
    reason: str


def size_spread(lengths_mm: Sequence[float], rule: SpreadRule | None = None) -> SizeSpread:
    """Return the spread of the bodies of one box, and whether to grade them.

    Parameters
    ----------
    lengths_mm : length of each body, in any order
    rule : when a spread is too wide; None for the default

    Raises
    ------
    ValueError : if there is no body or a length is not above zero

    Notes
    -----
    Bodies photographed curled measure short and pass for runts: look before you grade.
    """
    rule = rule or SpreadRule()
    values = positive(lengths_mm, "lengths")
    low, median, high = (float(q) for q in np.quantile(values, [0.1, 0.5, 0.9]))
    enough = values.size >= rule.least_n
    small = [int(i) for i in np.argsort(values, kind="stable") if values[i] < rule.runt_frac * median]
    wide = enough and high / low > rule.widest_ratio
    return SizeSpread(
        n=values.size, median_mm=median, low_mm=low, high_mm=high, ratio=high / low,
        runts=tuple(small) if enough else (), grade_by_size=wide,
        reason=_reason(values.size, high / low, rule),
    )  # fmt: skip


def _reason(n: int, ratio: float, rule: SpreadRule) -> str:
    if n < rule.least_n:
        return f"Only {n} measured: {rule.least_n} are needed to judge the spread."
    if ratio > rule.widest_ratio:
        return (
            f"The large ones are {ratio:.1f} times as long as the small ones (limit {rule.widest_ratio:g}): "
            "they take the food and may eat the small. Grade by size."
        )
    return f"The large ones are {ratio:.1f} times as long as the small ones: within {rule.widest_ratio:g}."
