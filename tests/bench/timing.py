"""Measuring side by side: what is measured and its floor take turns, so that the machine's moods hit both."""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Pair:
    """The medians of a floor and of what is measured against it, in seconds."""

    floor_s: float
    measured_s: float

    @property
    def ratio(self) -> float:
        """How many times the floor the measured one costs."""
        return self.measured_s / self.floor_s


def once(act: Callable[..., object], *given: object, clock: Callable[[], float] = time.perf_counter) -> float:
    """Return the seconds that one call takes, by a clock that never goes back; no garbage is collected in it."""
    gc.disable()
    try:
        began = clock()
        act(*given)
        return clock() - began
    finally:
        gc.enable()


def in_turns(
    acts: Sequence[Callable[..., object]],
    n: int,
    make: Callable[[], Any] | None = None,
    between: Callable[[], object] | None = None,
    clock: Callable[[], float] = time.perf_counter,
) -> list[float]:
    """Return the median seconds of each act over `n` rounds; who begins a round changes.

    `make`, where given, makes what each call is handed; `between` is called after each round. Neither is timed.
    The clock is the wall's, or `time.process_time` for the computation alone.
    """
    found: list[list[float]] = [[] for _ in acts]
    for nth in range(n):
        for k in range(len(acts)):
            which = (nth + k) % len(acts)
            given = (make(),) if make is not None else ()
            found[which].append(once(acts[which], *given, clock=clock))
        if between is not None:
            between()
    return [statistics.median(times) for times in found]


def side_by_side(
    floor: Callable[..., object],
    measured: Callable[..., object],
    n: int,
    make: Callable[[], Any] | None = None,
    between: Callable[[], object] | None = None,
) -> Pair:
    """Return the medians of a floor and of what is measured, `n` calls each, in turns."""
    return Pair(*in_turns((floor, measured), n, make, between))
