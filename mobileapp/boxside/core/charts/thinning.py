"""Long series made short enough to draw: a few points for each pixel column, extremes kept exactly."""

from __future__ import annotations

from collections.abc import Sequence

from boxside.core.charts.marks import Point

_ALWAYS_KEPT = 100


def kept_of_columns(px: Sequence[float], *heights: Sequence[float]) -> tuple[int, ...]:
    """Return which points are kept: of each pixel column the first, the last and the extremes of each height.

    A series with no more points than columns, or than a hundred, is kept whole.

    Parameters
    ----------
    px : places along the axis, not falling
    heights : one or more columns as long as px

    References
    ----------
    Jugel U., Jerzak Z., Hackenbroich G., Markl V. 2014, M4: a visualization-oriented time series data
    aggregation, Proceedings of the VLDB Endowment 7, 797-808 (the idea).
    """
    if not px or len(px) <= max(_ALWAYS_KEPT, int(abs(px[-1] - px[0])) + 1):
        return tuple(range(len(px)))
    kept: set[int] = set()
    start = 0
    for i in range(1, len(px) + 1):
        if i == len(px) or int(px[i]) != int(px[start]):
            column = range(start, i)
            kept |= {start, i - 1}
            for height in heights:
                kept |= {min(column, key=height.__getitem__), max(column, key=height.__getitem__)}
            start = i
    return tuple(sorted(kept))


def kept_of_cells(points: Sequence[Point], side: float) -> tuple[int, ...]:
    """Return which points are kept: one of each cell of a raster, and all four extremes."""
    if not points:
        return ()
    cells: dict[tuple[int, int], int] = {}
    for i, (x, y) in enumerate(points):
        cells.setdefault((int(x / side), int(y / side)), i)
    every = range(len(points))
    xs, ys = [x for x, _ in points], [y for _, y in points]
    ends = {pick(every, key=column.__getitem__) for pick in (min, max) for column in (xs, ys)}
    return tuple(sorted(ends | set(cells.values())))
