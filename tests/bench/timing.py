"""Measuring side by side: what is measured and its floor take turns, so that the machine's moods hit both."""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

Act = Callable[[], object]


@dataclass(frozen=True, slots=True)
class Pair:
    """The medians of a floor and of what is measured against it, in seconds."""

    floor_s: float
    measured_s: float
    n: int

    @property
    def ratio(self) -> float:
        """How many times the floor the measured one costs."""
        return self.measured_s / self.floor_s


def once(act: Act) -> float:
    """Return the seconds that one call takes, by a clock that never goes back; no garbage is collected in it."""
    gc.collect()
    gc.disable()
    try:
        began = time.perf_counter()
        act()
        return time.perf_counter() - began
    finally:
        gc.enable()


def median_s(act: Act, n: int) -> float:
    """Return the median seconds of `n` calls, after one that warms up."""
    act()
    return statistics.median(once(act) for _ in range(n))


def side_by_side(floor: Act, measured: Act, n: int) -> Pair:
    """Return the medians of `n` calls each, in turns and with the first of each pair changing."""
    floors: list[float] = []
    others: list[float] = []
    for nth in range(n):
        for act, found in ((floor, floors), (measured, others))[:: 1 if nth % 2 else -1]:
            found.append(once(act))
    return Pair(statistics.median(floors), statistics.median(others), n)
